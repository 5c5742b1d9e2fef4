//! The words of the job spec: every question that is answered by choosing.
//!
//! One macro makes the type, the words that the form offers, and the number by which a formula knows
//! a word, so that the three cannot drift apart.

use serde::{Deserialize, Serialize};

/// A word that may be chosen, and what a person reads for it.
pub type Word = (&'static str, &'static str);

/// A question with a fixed list of answers.
pub trait Choice: Copy {
    /// Name of the list, as formulas and tables know it.
    const DOMAIN: &'static str;
    /// The words in order.
    const WORDS: &'static [Word];
    /// Place of this word in [`Choice::WORDS`].
    fn index(self) -> usize;
}

macro_rules! choice {
    ($doc:literal $name:ident as $domain:literal: $($variant:ident $word:literal $title:literal,)+) => {
        #[doc = $doc]
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
        pub enum $name {
            $(#[doc = $title] #[serde(rename = $word)] $variant,)+
        }

        impl Choice for $name {
            const DOMAIN: &'static str = $domain;
            const WORDS: &'static [Word] = &[$(($word, $title),)+];
            fn index(self) -> usize {
                self as usize
            }
        }
    };
}

choice! { "How the cellar is used: sets the air that the door lets in." CellarUse as "cellar_use":
    LongStorage "long_storage" "Long storage: the door is seldom opened",
    Normal "normal" "Household or display cellar",
    Heavy "heavy" "Restaurant or shop service",
}
choice! { "Where the vapour barrier of the envelope is." VapourBarrier as "vapour_barrier":
    WarmSide "warm_side" "On the warm side of the insulation",
    ColdSide "cold_side" "On the cellar side of the insulation",
    None "none" "There is none",
}
choice! { "What a surface of the envelope is." SurfaceKind as "surface_kind":
    Wall "wall" "Wall, without its doors and glazing",
    Ceiling "ceiling" "Ceiling",
    Floor "floor" "Floor",
    Door "door" "Door",
    Glazing "glazing" "Glazing",
}
choice! { "How the unit hangs." Mounting as "mounting":
    Exposed "exposed" "Fully exposed below the ceiling",
    PartlyRecessed "partly_recessed" "Partly recessed into the ceiling",
    Flush "flush" "Flush: only the grille shows",
}
choice! { "From where the unit is serviced." ServiceAccess as "service_access":
    Above "above" "From above, through an attic or hatch",
    Below "below" "From below, inside the cellar",
}
choice! { "What the unit hangs from." Framing as "framing":
    Joist "joist" "Solid joists",
    Truss "truss" "Trusses",
    IJoist "i_joist" "I-joists",
    Concrete "concrete" "Concrete",
}
choice! { "Wood of the framing: sets what a screw holds." FramingSpecies as "framing_species":
    SouthernPine "southern_pine" "Southern pine",
    DouglasFirLarch "douglas_fir_larch" "Douglas fir-larch",
    HemFir "hem_fir" "Hem-fir",
    SprucePineFir "spruce_pine_fir" "Spruce-pine-fir",
}
choice! { "Where the condensing unit stands." CondenserLocation as "condenser_location":
    Outdoors "outdoors" "Outdoors",
    Attic "attic" "In the attic",
    Basement "basement" "In the basement",
    PlantRoom "plant_room" "In a plant room",
}
choice! { "What carries the condensing unit." CondenserSupport as "condenser_support":
    Ground "ground" "A pad on the ground",
    Wall "wall" "Brackets on a wall",
    Roof "roof" "A stand on the roof",
    Floor "floor" "The floor of a room, attic or balcony",
}
choice! { "Which way a leg of a route goes, seen from the unit." Direction as "direction":
    Level "level" "Level",
    Rise "rise" "Upward",
    Drop "drop" "Downward",
}
choice! { "What kind of space a leg passes through." Space as "space":
    Cellar "cellar" "The cellar itself",
    Attic "attic" "Attic",
    Crawl "crawl" "Crawl space",
    Finished "finished" "Inside finished walls or ceilings",
    Open "open" "Open framing or bare basement",
    Outdoors "outdoors" "Outdoors",
    Plenum "plenum" "Above a suspended ceiling",
}
choice! { "The copper of the line set." Tube as "tube":
    Soft "soft" "Soft coils, bent by hand",
    Hard "hard" "Hard lengths with fittings",
}
choice! { "What a line penetrates." PenetrationConstruction as "penetration_construction":
    Wood "wood" "Wood framing and board",
    Masonry "masonry" "Masonry or concrete",
    Roof "roof" "A roof",
}
choice! { "Where the condensate goes." Discharge as "discharge":
    FloorDrain "floor_drain" "Floor drain",
    SinkTail "sink_tail" "Tailpiece of a sink",
    Outdoors "outdoors" "Outdoors",
    CondensateReceptor "condensate_receptor" "Condensate receptor",
    LaundryStandpipe "laundry_standpipe" "Laundry standpipe",
}
choice! { "On which side of the cellar wall the controller is." ControllerLocation as "controller_location":
    Inside "inside" "Inside the cellar",
    Outside "outside" "Outside the cellar",
}
choice! { "The supply voltage." SupplyVoltage as "supply_voltage":
    V115 "v115" "115 V",
    V230 "v230" "230 V",
}
choice! { "How the unit is connected to its circuit." Connection as "connection":
    HardWired "hard_wired" "Hard-wired",
    Receptacle "receptacle" "Cord and receptacle",
}
choice! { "How the circuit is run." WiringMethod as "wiring_method":
    Cable "cable" "Cable",
    Conduit "conduit" "Conduit",
}
choice! { "Who does the electrical work." ElectricalBy as "electrical_by":
    Us "us" "We do",
    Electrician "electrician" "A licensed electrician under us",
    Owner "owner" "The owner's electrician",
}
choice! { "The decorative trim." Trim as "trim":
    None "none" "No trim",
    Frame "frame" "A frame around the opening",
    Cover "cover" "A cover over the housing",
}
choice! { "The colour of the trim." TrimColour as "trim_colour":
    Standard "standard" "A stock colour",
    Custom "custom" "A colour made to order",
}
choice! { "What is painted." PaintedPart as "painted_part":
    Housing "housing" "The housing",
    Bracket "bracket" "The bracket",
    Grille "grille" "The grille",
    Ceiling "ceiling" "The ceiling",
}
choice! { "Who paints." Painter as "painter":
    Us "us" "We do",
    Painter "painter" "A painter under us",
    Owner "owner" "The owner",
}
choice! { "Who paints a part, or that nobody does." PaintedBy as "painted_by":
    None "none" "Not painted",
    Us "us" "We do",
    Painter "painter" "A painter under us",
    Owner "owner" "The owner",
}
choice! { "The texture of a ceiling to be patched." Texture as "texture":
    Smooth "smooth" "Smooth",
    Textured "textured" "Textured",
}
choice! { "What the ceiling is made of." CeilingConstruction as "ceiling_construction":
    Drywall "drywall" "Gypsum board",
    Plaster "plaster" "Plaster",
    Tile "tile" "Suspended tile",
    Wood "wood" "Wood",
    Concrete "concrete" "Concrete",
}
choice! { "When we may work." WorkingHours as "working_hours":
    Day "day" "The whole working day",
    Limited "limited" "Limited hours of the day",
    Night "night" "At night only",
}
choice! { "Where the van stands." Parking as "parking":
    OnSite "on_site" "On the site",
    Street "street" "In the street",
    Paid "paid" "Paid parking",
}
choice! { "How sales tax is treated on this job." TaxTreatment as "tax_treatment":
    TaxOnSale "tax_on_sale" "Tax is charged on the sale",
    ContractorPays "contractor_pays" "The contractor pays tax on materials",
    Exempt "exempt" "The sale is exempt, by certificate",
}
choice! { "How an answer is known." Known as "known":
    Measured "measured" "Measured on site",
    Told "told" "Told by the customer or read from a drawing",
    Assumed "assumed" "Assumed by the surveyor",
    Unknown "unknown" "Not known: the office's rule for unknown answers applies",
}
choice! { "What kind of line is put in by hand." ManualKind as "manual_kind":
    Material "material" "Something bought",
    Labour "labour" "Work of our own people",
    Subcontract "subcontract" "Work of another firm",
    Fee "fee" "A fee or charge",
}
