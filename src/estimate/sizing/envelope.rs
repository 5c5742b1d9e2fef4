//! How much heat one face of the cellar lets in per degree: resistances in series, air films added.
//!
//! In: layers, an effective R that a table or a designer gave, or the U of glazing. Out: the overall
//! transmittance and the film on the warm side, on which sweating depends. Deliberately absent: thermal
//! bridges other than framing, the ground around a slab, heat storage.

use super::finite::Finite;
use super::heat_rate::{FT2_M2, R_M2K_W};
use super::range::{InputFault, within};

/// How the numbers were made.
pub const METHOD: &str = "thermal resistances in series with surface films; framing as parallel paths";
/// Where the method comes from.
pub const SOURCE: &str = "ISO 6946:2017, clause 6 and table 7";

/// Film towards outdoor air, m²·K/W (ISO 6946:2017 table 7).
const OUTDOOR_FILM_M2K_W: f64 = 0.04;
/// Resistance of one layer or of a whole face, ft²·h·°F/Btu.
const R_RANGE: (f64, f64) = (0.0, 200.0);

/// Which way a face looks; it settles how heat flows through it into the colder cellar.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Face {
    /// Wall, door or upright glazing: heat flows level.
    Wall,
    /// Ceiling: heat flows down into the cellar.
    Ceiling,
    /// Floor: heat flows up into the cellar.
    Floor,
}

/// What lies behind a face.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FarSide {
    /// A room or an attic: still air.
    Indoors,
    /// Outdoor air.
    Outdoors,
    /// Earth against the face: no air film.
    Ground,
}

/// One layer that heat has to cross.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Layer {
    /// A material of known conductivity.
    Material {
        /// Thickness, m.
        thickness_m: f64,
        /// Thermal conductivity, W/(m·K).
        conductivity_w_mk: f64,
    },
    /// A layer or a whole build-up by its R, without air films.
    Resistance {
        /// ft²·h·°F/Btu.
        r_ft2hf_btu: f64,
    },
}

/// How a face is built, as far as the survey knows it.
#[derive(Clone, Debug, PartialEq)]
pub enum Construction {
    /// Layers side against side, *without* air films: the films of ISO 6946 are added.
    Layers {
        /// In any order.
        layers: Vec<Layer>,
        /// What lies behind, for the outer film.
        far_side: FarSide,
    },
    /// Two paths side by side, both *without* air films: through the framing and through the cavity.
    Framed {
        /// Share of the area that is framing, 0 to 1.
        framing_share: f64,
        /// Layers met along the framing.
        framing: Vec<Layer>,
        /// Layers met along the cavity.
        cavity: Vec<Layer>,
        /// What lies behind, for the outer film.
        far_side: FarSide,
    },
    /// An effective R of the whole face: framing *and both air films are already in it*; nothing is added.
    EffectiveR {
        /// ft²·h·°F/Btu.
        r_ft2hf_btu: f64,
    },
    /// The U of glazing or of a door as its maker states it, *both air films in it*; nothing is added.
    OverallU {
        /// Btu/(h·ft²·°F).
        u_btu_hft2f: f64,
    },
}

/// What a face lets through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Transmittance {
    /// Resistance from air to air, m²·K/W.
    pub r_total_m2k_w: Finite,
    /// Resistance from air to air, ft²·h·°F/Btu.
    pub r_ft2hf_btu: Finite,
    /// Transmittance from air to air, W/(m²·K).
    pub u_w_m2k: Finite,
    /// Transmittance from air to air, Btu/(h·ft²·°F).
    pub u_btu_hft2f: Finite,
    /// Film on the cellar side, m²·K/W.
    pub cellar_film_m2k_w: Finite,
    /// Film on the far side, m²·K/W; zero against ground.
    pub far_film_m2k_w: Finite,
}

impl Face {
    /// Film on an indoor surface, m²·K/W (ISO 6946:2017 table 7), for heat that flows into the cellar.
    #[must_use]
    pub const fn indoor_film_m2k_w(self) -> f64 {
        match self {
            Face::Wall => 0.13,
            Face::Ceiling => 0.17,
            Face::Floor => 0.10,
        }
    }

    const fn far_film_m2k_w(self, far_side: FarSide) -> f64 {
        match far_side {
            FarSide::Indoors => self.indoor_film_m2k_w(),
            FarSide::Outdoors => OUTDOOR_FILM_M2K_W,
            FarSide::Ground => 0.0,
        }
    }
}

/// Transmittance of a face from air to air.
///
/// A stated R or U is taken as including still air on both sides, so its films are reported as those of
/// indoor air.
///
/// # Errors
/// A thickness outside 0 to 2 m, a conductivity outside 0.005 to 500 W/(m·K), an R outside 0 to 200
/// ft²·h·°F/Btu, a U outside 0.005 to 2, a framing share outside 0 to 1, or a face with no resistance.
pub fn transmittance(construction: &Construction, face: Face) -> Result<Transmittance, InputFault> {
    let cellar_film = face.indoor_film_m2k_w();
    let (r_total, far_film) = match construction {
        Construction::Layers { layers, far_side } => {
            let far_film = face.far_film_m2k_w(*far_side);
            (cellar_film + in_series(layers)? + far_film, far_film)
        }
        Construction::Framed {
            framing_share,
            framing,
            cavity,
            far_side,
        } => {
            let share = within("share of framing", *framing_share, (0.0, 1.0), "(fraction)")?;
            let far_film = face.far_film_m2k_w(*far_side);
            let films = cellar_film + far_film;
            let through =
                share / (films + in_series(framing)?) + (1.0 - share) / (films + in_series(cavity)?);
            (1.0 / through, far_film)
        }
        Construction::EffectiveR { r_ft2hf_btu } => {
            let r = within(
                "effective R of a face",
                *r_ft2hf_btu,
                (0.1, R_RANGE.1),
                "ft²·h·°F/Btu",
            )?;
            (r * R_M2K_W, cellar_film)
        }
        Construction::OverallU { u_btu_hft2f } => {
            let u = within(
                "U of glazing or a door",
                *u_btu_hft2f,
                (0.005, 2.0),
                "Btu/(h·ft²·°F)",
            )?;
            (R_M2K_W / u, cellar_film)
        }
    };
    Ok(Transmittance {
        r_total_m2k_w: Finite::new(r_total, "thermal resistance")?,
        r_ft2hf_btu: Finite::new(r_total / R_M2K_W, "thermal resistance")?,
        u_w_m2k: Finite::new(1.0 / r_total, "thermal transmittance")?,
        u_btu_hft2f: Finite::new(R_M2K_W / r_total, "thermal transmittance")?,
        cellar_film_m2k_w: Finite::new(cellar_film, "cellar-side film")?,
        far_film_m2k_w: Finite::new(far_film, "far-side film")?,
    })
}

/// Heat (W) that flows through an area from the far side into the cellar; negative when it flows out.
pub(super) fn conduction_w(transmittance: &Transmittance, area_ft2: f64, far_c: f64, cellar_c: f64) -> f64 {
    transmittance.u_w_m2k.get() * area_ft2 * FT2_M2 * (far_c - cellar_c)
}

fn in_series(layers: &[Layer]) -> Result<f64, InputFault> {
    layers.iter().map(|layer| layer.resistance_m2k_w()).sum()
}

impl Layer {
    fn resistance_m2k_w(&self) -> Result<f64, InputFault> {
        match *self {
            Layer::Material {
                thickness_m,
                conductivity_w_mk,
            } => {
                let d = within("thickness of a layer", thickness_m, (0.0, 2.0), "m")?;
                let k = within(
                    "conductivity of a layer",
                    conductivity_w_mk,
                    (0.005, 500.0),
                    "W/(m·K)",
                )?;
                Ok(d / k)
            }
            Layer::Resistance { r_ft2hf_btu } => {
                Ok(within("R of a layer", r_ft2hf_btu, R_RANGE, "ft²·h·°F/Btu")? * R_M2K_W)
            }
        }
    }
}
