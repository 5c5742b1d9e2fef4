//! Facts of the sizing: what formulas may read of it.
//!
//! Each question of the report has a table of its facts: name, kind, meaning, value. The report's results
//! are read from the same tables, so that definitions, values and what is printed cannot come apart.

use super::line_set::tube::TubeSize;
use super::report::{Figures, Reading, ReadingValue, SizingReport};
use super::wiring::conductor::WireSize;
use crate::catalogue::Catalogue;
use crate::catalogue::facts::class_domain;
use crate::quantity::fact::{Bounds, Domain, FactDef, FactKind, FactSource, FactValue, WordNumber};
use crate::quantity::unit::Unit;
use crate::quantity::{Decimal, Quantity};

/// The name of the domain of copper tube sizes.
pub const TUBE_SIZE: &str = "tube_size";
/// The name of the domain of conductor sizes, American wire gauge.
pub const WIRE_SIZE: &str = "wire_size";
/// The name of the domain of wall thicknesses of tube insulation, in.
pub const INSULATION_THICKNESS: &str = "insulation_thickness";
/// The name of the domain of lag-screw diameters, in.
pub const LAG_SIZE: &str = "lag_size";

/// The sizes of tube that formulas know, the smallest first; larger ones are never chosen.
pub(super) const TUBE_SIZES: [TubeSize; 8] = [
    TubeSize::Quarter,
    TubeSize::FiveSixteenths,
    TubeSize::ThreeEighths,
    TubeSize::Half,
    TubeSize::FiveEighths,
    TubeSize::ThreeQuarters,
    TubeSize::SevenEighths,
    TubeSize::OneAndEighth,
];

/// The words of [`super::sweating::STANDARD_THICKNESSES_IN`], in its order.
pub(super) const THICKNESSES: [&str; 8] = ["1/4", "3/8", "1/2", "3/4", "1", "1-1/4", "1-1/2", "2"];

/// Diameters of lag screws that a bracket may have, with their size in in.
pub(super) const LAGS: [(&str, f64); 3] = [("1/4", 0.25), ("5/16", 0.3125), ("3/8", 0.375)];

/// What kind of value a row of a table has.
#[derive(Clone, Copy)]
pub(super) enum Kind {
    Number(Unit),
    Flag,
    Class,
    Tube,
    Wire,
    Insulation,
    Lag,
}

/// One fact.
pub(super) struct Row {
    pub name: &'static str,
    pub kind: Kind,
    pub meaning: &'static str,
    pub value: fn(&Figures) -> FactValue,
}

/// Definitions of the facts of a sizing with this catalogue.
pub fn definitions(catalogue: &Catalogue) -> Vec<FactDef> {
    let domains = Domains::new(catalogue);
    let rows = super::report::TABLES.iter().copied().flatten();
    rows.map(|row| FactDef {
        name: row.name.into(),
        kind: domains.kind(row.kind),
        meaning: row.meaning.into(),
        source: FactSource::Sizing,
        bounds: bounds(row.name),
    })
    .collect()
}

/// What is known of a fact's size on every job.
fn bounds(name: &str) -> Bounds {
    match name {
        "unit.count" => Bounds {
            least: Some(Decimal::ONE),
            greatest: None,
        },
        _ if NOT_NEGATIVE.contains(&name) => Bounds::NOT_NEGATIVE,
        _ => Bounds::default(),
    }
}

/// Lengths, weights, counts and currents that are never below zero. Heat, differences and heights can be.
const NOT_NEGATIVE: [&str; 28] = [
    "unit.capacity",
    "wiring.breaker",
    "wiring.voltage_drop",
    "controller.cable_needed",
    "controller.cable_included",
    "controller.extension",
    "probe.needed",
    "probe.extension",
    "drain.lift",
    "drain.pump_head",
    "drain.fall_needed",
    "drain.antisiphon_height",
    "drain.antisiphon_distance",
    "drain.tube_size",
    "insulation.least_thickness",
    "hanging.load",
    "hanging.design_load",
    "hanging.fasteners",
    "hanging.screw_load",
    "hanging.screw_holds",
    "hanging.blocking_length",
    "hanging.persons",
    "line_set.equivalent_length",
    "line_set.traps",
    "line_set.joints",
    "line_set.riser_velocity",
    "line_set.extra_charge",
    "line_set.total_charge",
];

/// Values of the facts of one sizing, in the order of [`definitions`]. Of a question that could not be
/// worked out they are stand-ins, and a stop among the report's findings says so.
pub fn values(report: &SizingReport) -> Vec<FactValue> {
    let rows = super::report::TABLES.iter().copied().flatten();
    rows.map(|row| (row.value)(report.figures())).collect()
}

/// The facts of one question as the report tells them.
pub(super) fn readings<'a>(
    rows: &'static [Row],
    figures: &'a Figures,
    classes: &'a [crate::catalogue::Equipment],
) -> impl Iterator<Item = Reading> + 'a {
    rows.iter().map(|row| Reading {
        name: row.name,
        title: row.meaning.into(),
        value: match ((row.value)(figures), row.kind) {
            (FactValue::Flag(flag), _) => ReadingValue::Flag(flag),
            (FactValue::Number(value), Kind::Number(unit)) => {
                ReadingValue::Quantity(Quantity { value, unit })
            }
            (FactValue::Number(value), _) => ReadingValue::Quantity(Quantity {
                value,
                unit: Unit::ONE,
            }),
            (FactValue::Choice(number), kind) => ReadingValue::Text(word(kind, number, classes)),
        },
    })
}

fn word(kind: Kind, number: WordNumber, classes: &[crate::catalogue::Equipment]) -> super::report::Text {
    let at = number.place();
    let fixed = match kind {
        Kind::Class => {
            return classes
                .get(at)
                .map(|class| class.class.clone())
                .unwrap_or_default()
                .into();
        }
        Kind::Tube => TUBE_SIZES.get(at).map(|size| size.nominal()),
        Kind::Wire => WireSize::ALL.get(at).map(|size| size.gauge()),
        Kind::Insulation => THICKNESSES.get(at).copied(),
        Kind::Lag => LAGS.get(at).map(|(word, _)| *word),
        Kind::Number(_) | Kind::Flag => None,
    };
    fixed.unwrap_or_default().into()
}

struct Domains {
    class: Domain,
    tube: Domain,
    wire: Domain,
    insulation: Domain,
    lag: Domain,
}

impl Domains {
    fn new(catalogue: &Catalogue) -> Self {
        Domains {
            class: class_domain(catalogue),
            tube: Domain::new(TUBE_SIZE, TUBE_SIZES.map(TubeSize::nominal)),
            wire: Domain::new(WIRE_SIZE, WireSize::ALL.map(WireSize::gauge)),
            insulation: Domain::new(INSULATION_THICKNESS, THICKNESSES),
            lag: Domain::new(LAG_SIZE, LAGS.map(|(word, _)| word)),
        }
    }

    fn kind(&self, kind: Kind) -> FactKind {
        let domain = match kind {
            Kind::Number(unit) => return FactKind::Number(unit),
            Kind::Flag => return FactKind::Flag,
            Kind::Class => &self.class,
            Kind::Tube => &self.tube,
            Kind::Wire => &self.wire,
            Kind::Insulation => &self.insulation,
            Kind::Lag => &self.lag,
        };
        FactKind::Choice(domain.clone())
    }
}

pub(super) fn number(value: Decimal) -> FactValue {
    FactValue::Number(value)
}

/// The place of a word in its list.
pub(super) fn place(at: usize) -> FactValue {
    FactValue::Choice(WordNumber::at(at))
}

pub(super) fn tube(size: TubeSize) -> FactValue {
    let at = TUBE_SIZES.iter().position(|known| *known == size);
    place(at.unwrap_or(TUBE_SIZES.len() - 1))
}

pub(super) fn wire(size: WireSize) -> FactValue {
    let at = WireSize::ALL.iter().position(|known| *known == size);
    place(at.unwrap_or(WireSize::ALL.len() - 1))
}

/// Rows of numbers, flags and choices, written as a table.
macro_rules! rows {
    ($($name:literal $kind:ident $(($unit:expr))?, $meaning:literal, |$figures:ident| $value:expr;)*) => {
        &[$(crate::sizing::facts::Row {
            name: $name,
            kind: crate::sizing::facts::Kind::$kind $(($unit))?,
            meaning: $meaning,
            value: |$figures: &crate::sizing::report::Figures| $value,
        },)*]
    };
}
pub(super) use rows;
