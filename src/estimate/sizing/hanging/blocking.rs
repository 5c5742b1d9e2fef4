//! Where the hangers meet the joists, and what blocking carries those that meet none.

use crate::sizing::finite::{Finite, NotFinite};
use crate::sizing::range::{InputFault, within};

/// Where the rule comes from.
pub const BLOCKING_SOURCE: &str = "common practice, no source: the weight is spread to at least two joists";

/// A screw needs this many diameters of wood beside it (NDS, from memory).
const EDGE_DIAMETERS: f64 = 1.5;

/// Joists above the unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Joists {
    /// Spacing on centres, in.
    pub spacing_in: f64,
    /// Width of a joist's lower face, in; 1.5 for dimension lumber.
    pub width_in: f64,
    /// Whether they run along the unit's length.
    pub along_unit: bool,
    /// Distance of the first hangers from the centre of the joist before them, across the joists, in;
    /// none where the place of the unit is not yet set out: then each hanger gets a block.
    pub first_from_joist_in: Option<f64>,
}

/// The hang points of a bracket: a grid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BracketPattern {
    /// Hang points in a row along the unit's length.
    pub along: u32,
    /// Rows across the unit.
    pub across: u32,
    /// Distance from the first to the last point of a row, in.
    pub length_in: f64,
    /// Distance from the first to the last row, in.
    pub width_in: f64,
    /// Screws at each hang point.
    pub screws_per_point: u32,
}

impl BracketPattern {
    pub(super) fn check(&self) -> Result<(), InputFault> {
        within(
            "hang points along the unit",
            f64::from(self.along),
            (1.0, 10.0),
            "points",
        )?;
        within("rows of hang points", f64::from(self.across), (1.0, 10.0), "rows")?;
        within(
            "screws at a hang point",
            f64::from(self.screws_per_point),
            (1.0, 10.0),
            "screws",
        )?;
        within("length of the bracket", self.length_in, (0.0, 200.0), "in")?;
        within("width of the bracket", self.width_in, (0.0, 200.0), "in")?;
        let spread = |count: u32, inches: f64| (count == 1) == (inches == 0.0);
        if spread(self.along, self.length_in) && spread(self.across, self.width_in) {
            return Ok(());
        }
        Err(InputFault::Unusable {
            field: "bracket",
            why: "one point takes no length, and two or more take some",
        })
    }

    /// Hang points.
    #[must_use]
    pub const fn points(&self) -> u32 {
        self.along * self.across
    }

    /// Screws.
    #[must_use]
    pub const fn screws(&self) -> u32 {
        self.points() * self.screws_per_point
    }
}

/// Blocking between the joists.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Blocking {
    /// Whether any is needed.
    pub needed: bool,
    /// Whether the place of the unit against the joists was known; otherwise no hanger is taken to
    /// meet a joist.
    pub set_out: bool,
    /// Pieces of blocking.
    pub pieces: u32,
    /// Length of each, in: the clear bay.
    pub piece_in: Finite,
    /// Length of all, ft.
    pub total_ft: Finite,
    /// Joists that carry the unit.
    pub joists_carrying: u32,
    /// Where the rule comes from.
    pub source: &'static str,
}

/// Finds the blocking under a bracket.
///
/// # Errors
/// Joists closer than 4 in or wider apart than 60 in, or wider than their spacing.
pub(super) fn blocking(
    joists: &Joists,
    pattern: &BracketPattern,
    screw_in: f64,
) -> Result<Blocking, InputFault> {
    within("joist spacing", joists.spacing_in, (4.0, 60.0), "in")?;
    within(
        "joist width",
        joists.width_in,
        (0.5, joists.spacing_in / 2.0),
        "in",
    )?;
    let Some(offset_in) = joists.first_from_joist_in else {
        return Ok(describe(joists, pattern.points(), 2)?);
    };
    within(
        "distance of the first hangers from a joist",
        offset_in,
        (0.0, joists.spacing_in),
        "in",
    )?;
    // Columns lie side by side across the joists; the points of a column lie along a joist.
    let (columns, span_in, rows) = if joists.along_unit {
        (pattern.across, pattern.width_in, pattern.along)
    } else {
        (pattern.along, pattern.length_in, pattern.across)
    };
    let reach_in = joists.width_in / 2.0 - EDGE_DIAMETERS * screw_in;
    let mut carriers = Carriers::default();
    for column in 0..columns {
        let share = if columns > 1 {
            f64::from(column) / f64::from(columns - 1)
        } else {
            0.0
        };
        let position = (offset_in + share * span_in) / joists.spacing_in;
        let nearest = (position + 0.5).floor();
        let off_in = (position - nearest).abs() * joists.spacing_in;
        if off_in <= reach_in {
            carriers.joist(nearest);
        } else {
            carriers.bay(position.floor());
        }
    }
    // All hangers on one joist: a block in the bay beside it, at each row, brings in the next joist.
    if carriers.bays.is_empty() && carriers.joists.len() < 2 {
        carriers.bay(carriers.joists.first().copied().unwrap_or(0.0));
    }
    let pieces = u32::try_from(carriers.bays.len())
        .unwrap_or(u32::MAX)
        .saturating_mul(rows);
    Ok(describe(joists, pieces, carriers.carrying())?)
}

/// Joists met and bays between them, each by its number.
#[derive(Default)]
struct Carriers {
    joists: Vec<f64>,
    bays: Vec<f64>,
}

impl Carriers {
    fn joist(&mut self, number: f64) {
        if !self.joists.contains(&number) {
            self.joists.push(number);
        }
    }

    fn bay(&mut self, number: f64) {
        if !self.bays.contains(&number) {
            self.bays.push(number);
        }
    }

    /// Each block rests on the joists at both sides of its bay.
    fn carrying(&self) -> u32 {
        let mut all = self.joists.clone();
        for bay in &self.bays {
            for joist in [*bay, bay + 1.0] {
                if !all.contains(&joist) {
                    all.push(joist);
                }
            }
        }
        u32::try_from(all.len()).unwrap_or(u32::MAX)
    }
}

fn describe(joists: &Joists, pieces: u32, joists_carrying: u32) -> Result<Blocking, NotFinite> {
    let piece_in = joists.spacing_in - joists.width_in;
    Ok(Blocking {
        needed: pieces > 0,
        set_out: joists.first_from_joist_in.is_some(),
        pieces,
        piece_in: Finite::new(piece_in, "length of a block")?,
        total_ft: Finite::new(f64::from(pieces) * piece_in / 12.0, "length of all blocks")?,
        joists_carrying,
        source: BLOCKING_SOURCE,
    })
}
