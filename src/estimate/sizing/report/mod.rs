//! The sizing report: every question of this room asked of one job, told in one shape.
//!
//! In: a checked job spec and the catalogue. Out: the unit that is taken, a report of every question with
//! its inputs, method, source and margin, the findings, and the figures that formulas read. Numbers leave
//! physics here and nowhere else: each is brought to its declared step and is a decimal from then on.
//! Deliberately absent: what the office makes of it, prices, and any approval.

mod charge;
mod circuit;
mod condenser;
mod controls;
mod drain;
mod envelope;
mod fleet;
mod hanging;
mod insulation;
mod lines;
mod load;
mod mounting;
mod practice;
mod question;
mod step;
mod survey;
mod unanswered;
mod unit_class;

use serde::Serialize;

use self::survey::Survey;
use self::unit_class::Taken;
use super::facts::{Row, readings};
use super::finding::{self, Finding};
use crate::catalogue::Catalogue;
use crate::job::Spec;

pub use question::{Margin, Question, Reading, ReadingValue, Side, Text};

/// What stands on every report.
pub const DISCLAIMER: &str = "Preliminary sizing aid. Verify with the unit's instructions, the adopted codes and a licensed \
     professional.";

/// Why there is no report at all. Whatever else is wrong is a finding.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SizingFault {
    /// The job asks for a class that the catalogue does not hold.
    #[error("{pointer}: there is no class `{came}`; there are {}", allowed.join(", "))]
    UnknownClass {
        /// Where in the job spec, as a JSON Pointer.
        pointer: &'static str,
        /// The class asked for.
        came: String,
        /// The classes there are.
        allowed: Vec<String>,
    },
    /// The catalogue holds no equipment.
    #[error("the catalogue holds no equipment to choose from")]
    NoEquipment,
}

/// The unit that everything after the choice was worked out for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct ChosenEquipment {
    /// Its class.
    pub class: String,
    /// What it is, as it stands on a bill.
    pub title: String,
    /// How many of it.
    pub count: u32,
    /// No class does, or none could be chosen: it only lets the rest be figured, and a stop says why.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub for_figuring_only: bool,
}

/// What physics says of one job.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SizingReport {
    /// The unit taken: the one asked for, the smallest that does, or the one that does the most where none
    /// does; then a stop among the findings says what is out.
    pub equipment: ChosenEquipment,
    /// Every question, in the order in which the answers build on each other. Lengths, charge, drain, wire
    /// and screws are those of one unit.
    pub questions: Vec<Question>,
    /// Cautions and stops, in the order of the questions.
    pub findings: Vec<Finding>,
    /// What stands on every report.
    pub disclaimer: &'static str,
    #[serde(skip)]
    place: usize,
    #[serde(skip)]
    figures: Figures,
}

impl SizingReport {
    /// Place of the unit taken in [`Catalogue::equipment`].
    #[must_use]
    pub fn equipment_place(&self) -> usize {
        self.place
    }

    /// The question of this name.
    #[must_use]
    pub fn question(&self, name: &str) -> Option<&Question> {
        self.questions.iter().find(|question| question.name == name)
    }

    /// Whether anything found stops the offer.
    #[must_use]
    pub fn stops(&self) -> bool {
        finding::stops(&self.findings)
    }

    pub(super) fn figures(&self) -> &Figures {
        &self.figures
    }
}

/// The figures of every question, of which facts are read.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Figures {
    pub load: load::LoadFigures,
    pub class: unit_class::ClassFigures,
    pub mounting: mounting::MountingFigures,
    pub condenser: condenser::CondenserFigures,
    pub lines: lines::LineFigures,
    pub charge: charge::ChargeFigures,
    pub drain: drain::DrainFigures,
    pub controls: controls::ControlFigures,
    pub circuit: circuit::CircuitFigures,
    pub hanging: hanging::HangingFigures,
    pub insulation: insulation::InsulationFigures,
    pub envelope: envelope::EnvelopeFigures,
}

/// The facts of every question, in the order of the questions.
pub(super) const TABLES: [&[Row]; 12] = [
    load::ROWS,
    unit_class::ROWS,
    mounting::ROWS,
    condenser::ROWS,
    lines::ROWS,
    charge::ROWS,
    drain::ROWS,
    controls::ROWS,
    circuit::ROWS,
    hanging::ROWS,
    insulation::ROWS,
    envelope::ROWS,
];

/// Sizes one job.
///
/// A question that cannot be worked out does not end the report: it is told as a stop, and formulas read
/// stand-ins for its facts.
///
/// # Errors
/// A class that the catalogue does not hold, or a catalogue without equipment.
pub fn size(spec: &Spec, catalogue: &Catalogue) -> Result<SizingReport, SizingFault> {
    let survey = Survey::new(spec, catalogue)?;
    let taken = unit_class::take(&survey);
    let load = load::ask(&survey, taken.fans_w(), &taken.load);
    let class = unit_class::ask(&survey, &taken);
    let mounting = mounting::ask(&survey, &taken);
    let condenser = condenser::ask(&survey, &taken);
    let lines = lines::ask(&survey, &taken);
    let charge = charge::ask(&survey, &taken, &lines.figures);
    let drain = drain::ask(&survey, &taken);
    let controls = controls::ask(&survey, &taken);
    let circuit = circuit::ask(&survey, &taken);
    let hanging = hanging::ask(&survey, &taken);
    let insulation = insulation::ask(&survey, &lines.figures);
    let envelope = envelope::ask(&survey, &taken);
    let sheets = [
        load.sheet,
        class.sheet,
        mounting.sheet,
        condenser.sheet,
        lines.sheet,
        charge.sheet,
        drain.sheet,
        controls.sheet,
        circuit.sheet,
        hanging.sheet,
        insulation.sheet,
        envelope.sheet,
    ];
    let figures = Figures {
        load: load.figures,
        class: class.figures,
        mounting: mounting.figures,
        condenser: condenser.figures,
        lines: lines.figures,
        charge: charge.figures,
        drain: drain.figures,
        controls: controls.figures,
        circuit: circuit.figures,
        hanging: hanging.figures,
        insulation: insulation.figures,
        envelope: envelope.figures,
    };
    let mut questions = Vec::with_capacity(sheets.len());
    let mut findings = Vec::new();
    for (sheet, rows) in sheets.into_iter().zip(TABLES) {
        let (question, found) = sheet.close(readings(rows, &figures, catalogue.equipment()));
        questions.push(question);
        findings.extend(found);
    }
    Ok(SizingReport {
        equipment: chosen(&taken),
        questions,
        findings,
        disclaimer: DISCLAIMER,
        place: taken.place,
        figures,
    })
}

fn chosen(taken: &Taken<'_>) -> ChosenEquipment {
    ChosenEquipment {
        class: taken.equipment.class.clone(),
        title: taken.equipment.title.clone(),
        count: taken.units,
        for_figuring_only: taken.for_figuring_only,
    }
}
