//! Steps of formulas while they are computed; made readable when the formula is done.

use super::super::program::{Formula, Kind, Note, NoteId, Program, Sort};
use super::super::trace::{FormulaTrace, Place, Shown, Step, What};
use crate::quantity::fact::WordNumber;
use rust_decimal::Decimal;

/// A value before it is known what it stands for.
#[derive(Debug, Clone, Copy)]
pub(super) enum Raw {
    Number(Decimal),
    Flag(bool),
    Word(WordNumber),
}

#[derive(Debug, Clone, Copy)]
pub(super) struct RawStep {
    note: NoteId,
    value: Raw,
    row: u32,
}

/// The steps of the formulas at hand, those of an outer one below, and the formulas that are done.
#[derive(Debug, Default)]
pub(super) struct Recorder<'p> {
    steps: Vec<RawStep>,
    pub(super) formulas: Vec<FormulaTrace<'p>>,
}

impl<'p> Recorder<'p> {
    /// Begins a formula; what is given back marks where its steps begin.
    pub(super) fn begin(&self) -> usize {
        self.steps.len()
    }

    pub(super) fn step(&mut self, note: NoteId, value: Raw, row: u32) {
        self.steps.push(RawStep { note, value, row });
    }

    /// Ends a formula that began at the mark, and goes on with the one around it.
    pub(super) fn finish<T>(
        &mut self,
        program: &'p Program,
        formula: &'p Formula<T>,
        place: Place<'p>,
        result: Raw,
        mark: usize,
    ) {
        let own = self.steps.get(mark..).unwrap_or_default();
        let mut steps = Vec::with_capacity(own.len());
        for step in own {
            let Some(note) = formula.notes.get(step.note as usize) else {
                continue;
            };
            steps.push(Step {
                text: note.span.of(&formula.text),
                span: note.span,
                what: what(program, note, step.row),
                value: shown(program, note.kind, step.value),
            });
        }
        self.steps.truncate(mark);
        self.formulas.push(FormulaTrace {
            place,
            formula: &formula.text,
            steps,
            result: shown(program, formula.result, result),
        });
    }
}

fn what<'p>(program: &'p Program, note: &Note, row: u32) -> What<'p> {
    match note.sort {
        Sort::Fact => What::Fact,
        Sort::Derived => What::Derived,
        Sort::Conversion => What::Conversion,
        Sort::Cell(table) => What::Cell {
            table: program
                .table_names
                .get(table)
                .map(AsRef::as_ref)
                .unwrap_or_default(),
            row: row as usize + 1,
        },
        Sort::Result => What::Result,
    }
}

/// A value with its unit or as its word.
pub(super) fn shown(program: &Program, kind: Kind, value: Raw) -> Shown<'_> {
    match (value, kind) {
        (Raw::Number(value), Kind::Number(unit)) => Shown::Number(value, unit),
        (Raw::Number(value), _) => Shown::Number(value, crate::quantity::unit::Unit::ONE),
        (Raw::Flag(flag), _) => Shown::Flag(flag),
        (Raw::Word(number), Kind::Choice(domain)) => Shown::Word(
            program
                .domains
                .get(domain.0)
                .and_then(|domain| domain.word(number))
                .unwrap_or_default(),
        ),
        (Raw::Word(_), _) => Shown::Word(""),
    }
}
