//! Formulas on the facts of one job. Derived values are computed when something first needs them.

use super::super::formula::Join;
use super::super::outcome::Count;
use super::super::program::{
    Choice, ChoiceOp, Flag, FlagOp, Formula, Grid, GridKey, KeyValue, NoteId, Number, NumberOp, Program,
    Typed,
};
use super::super::trace::Place;
use super::compute::{arithmetic, compared, fits, interpolate, settled, slip};
use super::fault::{RunFault, RunReason};
use super::record::{Raw, Recorder};
use crate::quantity::fact::{FactValue, WordNumber};
use crate::quantity::rounding::to_step;
use rust_decimal::Decimal;

/// Why a node has no value.
pub(super) enum Slip {
    /// This node of the formula at hand.
    Here(NoteId, RunReason),
    /// A derived value that the formula needs.
    Elsewhere(RunFault),
}

pub(super) type Eval<T> = Result<T, Box<Slip>>;

/// One run. `EXPLAIN` decides at compile time whether steps are kept.
pub(super) struct Machine<'p, 'f, const EXPLAIN: bool> {
    pub(super) program: &'p Program,
    facts: &'f [FactValue],
    numbers: Vec<Option<Decimal>>,
    flags: Vec<Option<bool>>,
    choices: Vec<Option<WordNumber>>,
    pub(super) recorder: Recorder<'p>,
}

impl<'p, 'f, const EXPLAIN: bool> Machine<'p, 'f, EXPLAIN> {
    pub(super) fn new(program: &'p Program, facts: &'f [FactValue]) -> Self {
        Self {
            program,
            facts,
            numbers: vec![None; program.derived.numbers.len()],
            flags: vec![None; program.derived.flags.len()],
            choices: vec![None; program.derived.choices.len()],
            recorder: Recorder::default(),
        }
    }

    /// What was counted in wholes until now.
    pub(super) fn counts(&self) -> Vec<Count<'p>> {
        let program = self.program;
        let known = program.derived.numbers.iter().zip(&self.numbers);
        known
            .filter(|(derived, _)| derived.counts())
            .filter_map(|(derived, value)| {
                Some(Count {
                    name: &derived.name,
                    title: derived.title.as_deref().unwrap_or_default(),
                    value: (*value)?,
                })
            })
            .collect()
    }

    /// A formula's number; its fault names the place.
    pub(super) fn number_of(
        &mut self,
        formula: &'p Formula<Number>,
        place: impl Fn() -> Place<'p>,
    ) -> Result<Decimal, Box<RunFault>> {
        self.formula(
            formula,
            place,
            |machine| machine.number(&formula.tree),
            Raw::Number,
        )
    }

    /// A formula's flag; its fault names the place.
    pub(super) fn flag_of(
        &mut self,
        formula: &'p Formula<Flag>,
        place: impl Fn() -> Place<'p>,
    ) -> Result<bool, Box<RunFault>> {
        self.formula(formula, place, |machine| machine.flag(&formula.tree), Raw::Flag)
    }

    /// A formula's choice; its fault names the place.
    pub(super) fn choice_of(
        &mut self,
        formula: &'p Formula<Choice>,
        place: impl Fn() -> Place<'p>,
    ) -> Result<WordNumber, Box<RunFault>> {
        self.formula(formula, place, |machine| machine.choice(&formula.tree), Raw::Word)
    }

    /// The value of a formula of any type.
    pub(super) fn raw_of(
        &mut self,
        formula: &'p Formula<Typed>,
        place: impl Fn() -> Place<'p>,
    ) -> Result<Raw, Box<RunFault>> {
        let value = |machine: &mut Self| match &formula.tree {
            Typed::Number(tree, _) => machine.number(tree).map(Raw::Number),
            Typed::Flag(tree) => machine.flag(tree).map(Raw::Flag),
            Typed::Choice(tree, _) => machine.choice(tree).map(Raw::Word),
        };
        self.formula(formula, place, value, |raw| raw)
    }

    fn formula<F, T: Copy>(
        &mut self,
        formula: &'p Formula<F>,
        place: impl Fn() -> Place<'p>,
        value: impl FnOnce(&mut Self) -> Eval<T>,
        raw: impl FnOnce(T) -> Raw,
    ) -> Result<T, Box<RunFault>> {
        let mark = if EXPLAIN { self.recorder.begin() } else { 0 };
        let result = value(self).map_err(|slip| {
            Box::new(match *slip {
                Slip::Elsewhere(fault) => fault,
                Slip::Here(note, reason) => place_fault(formula, note, place(), reason),
            })
        });
        if EXPLAIN && let Ok(value) = result {
            self.recorder
                .finish(self.program, formula, place(), raw(value), mark);
        }
        result
    }

    fn record(&mut self, note: NoteId, value: Raw, row: u32) {
        if EXPLAIN {
            self.recorder.step(note, value, row);
        }
    }

    fn wrong_fact<T>(&self, note: NoteId, slot: usize) -> Eval<T> {
        let name = self
            .program
            .facts
            .get(slot)
            .map(|def| def.name.to_string())
            .unwrap_or_default();
        slip(note, RunReason::WrongFacts { name })
    }

    fn number(&mut self, node: &'p Number) -> Eval<Decimal> {
        let note = node.note;
        let mut row = 0;
        let value = match &node.op {
            // What is written in the formula needs no step.
            NumberOp::Given(value) => return Ok(*value),
            NumberOp::Fact(slot) => match self.facts.get(*slot) {
                Some(FactValue::Number(value)) => *value,
                _ => return self.wrong_fact(note, *slot),
            },
            NumberOp::Derived(slot) => self.derived_number(note, *slot)?,
            NumberOp::Negate(part) => -self.number(part)?,
            NumberOp::Absolute(part) => self.number(part)?.abs(),
            NumberOp::Arithmetic(sum, sides) => {
                let (left, right) = (self.number(&sides[0])?, self.number(&sides[1])?);
                arithmetic(note, *sum, left, right)?
            }
            NumberOp::Least(first, rest) => self.fold(first, rest, Decimal::min)?,
            NumberOp::Greatest(first, rest) => self.fold(first, rest, Decimal::max)?,
            NumberOp::Clamp(parts) => {
                let value = self.number(&parts[0])?.max(self.number(&parts[1])?);
                value.min(self.number(&parts[2])?)
            }
            NumberOp::Step(towards, part, step) => {
                let value = self.number(part)?;
                fits(note, to_step(value, *step, *towards))?
            }
            NumberOp::Convert(scale, part) => {
                let value = self.number(part)?;
                fits(note, scale.apply(value))?
            }
            NumberOp::If(condition, branches) => {
                let branch = usize::from(!self.flag(condition)?);
                self.number(&branches[branch])?
            }
            NumberOp::Cell(table, keys) => {
                let program = self.program;
                let Some(table) = program.tables.numbers.get(*table) else {
                    return self.wrong_fact(note, 0);
                };
                row = self.cell(note, &table.grid, keys)?;
                table
                    .values
                    .get(row as usize)
                    .copied()
                    .map_or_else(|| self.wrong_fact(note, 0), Ok)?
            }
            NumberOp::Curve(curve, keys, at) => {
                let program = self.program;
                let Some(curve) = program.tables.curves.get(*curve) else {
                    return self.wrong_fact(note, 0);
                };
                let at = self.number(at)?;
                let line = self.cell(note, &curve.grid, keys)?;
                let (value, on) = interpolate(note, curve, line as usize, at)?;
                row = on;
                value
            }
        };
        self.record(note, Raw::Number(value), row);
        Ok(value)
    }

    fn fold(
        &mut self,
        first: &'p Number,
        rest: &'p [Number],
        pick: fn(Decimal, Decimal) -> Decimal,
    ) -> Eval<Decimal> {
        let mut best = self.number(first)?;
        for part in rest {
            best = pick(best, self.number(part)?);
        }
        Ok(best)
    }

    fn flag(&mut self, node: &'p Flag) -> Eval<bool> {
        let note = node.note;
        let mut row = 0;
        let value = match &node.op {
            FlagOp::Given(value) => return Ok(*value),
            FlagOp::Fact(slot) => match self.facts.get(*slot) {
                Some(FactValue::Flag(value)) => *value,
                _ => return self.wrong_fact(note, *slot),
            },
            FlagOp::Derived(slot) => self.derived_flag(note, *slot)?,
            FlagOp::Not(part) => !self.flag(part)?,
            // The second side counts, and may fail, only when the first leaves it open.
            FlagOp::Logic(Join::And, sides) => self.flag(&sides[0])? && self.flag(&sides[1])?,
            FlagOp::Logic(Join::Or, sides) => self.flag(&sides[0])? || self.flag(&sides[1])?,
            FlagOp::Compare(compare, sides) => {
                let left = settled(self.number(&sides[0])?);
                compared(*compare, left, settled(self.number(&sides[1])?))
            }
            FlagOp::SameWord(same, sides) => (self.choice(&sides[0])? == self.choice(&sides[1])?) == *same,
            FlagOp::SameFlag(same, sides) => (self.flag(&sides[0])? == self.flag(&sides[1])?) == *same,
            FlagOp::If(parts) => {
                let branch = if self.flag(&parts[0])? { 1 } else { 2 };
                self.flag(&parts[branch])?
            }
            FlagOp::Cell(table, keys) => {
                let program = self.program;
                let Some(table) = program.tables.flags.get(*table) else {
                    return self.wrong_fact(note, 0);
                };
                row = self.cell(note, &table.grid, keys)?;
                table
                    .values
                    .get(row as usize)
                    .copied()
                    .map_or_else(|| self.wrong_fact(note, 0), Ok)?
            }
        };
        self.record(note, Raw::Flag(value), row);
        Ok(value)
    }

    fn choice(&mut self, node: &'p Choice) -> Eval<WordNumber> {
        let note = node.note;
        let mut row = 0;
        let value = match &node.op {
            ChoiceOp::Given(value) => return Ok(*value),
            ChoiceOp::Fact(slot) => match self.facts.get(*slot) {
                Some(FactValue::Choice(value)) => *value,
                _ => return self.wrong_fact(note, *slot),
            },
            ChoiceOp::Derived(slot) => self.derived_choice(note, *slot)?,
            ChoiceOp::If(condition, branches) => {
                let branch = usize::from(!self.flag(condition)?);
                self.choice(&branches[branch])?
            }
            ChoiceOp::Cell(table, keys) => {
                let program = self.program;
                let Some(table) = program.tables.choices.get(*table) else {
                    return self.wrong_fact(note, 0);
                };
                row = self.cell(note, &table.grid, keys)?;
                table
                    .values
                    .get(row as usize)
                    .copied()
                    .map_or_else(|| self.wrong_fact(note, 0), Ok)?
            }
        };
        self.record(note, Raw::Word(value), row);
        Ok(value)
    }

    /// The cell of a grid for these keys.
    fn cell(&mut self, note: NoteId, grid: &'p Grid, keys: &'p [KeyValue]) -> Eval<u32> {
        let mut at = 0_usize;
        for (key, value) in grid.keys.iter().zip(keys) {
            let place = match value {
                KeyValue::Choice(choice) => self.choice(choice)?.place(),
                KeyValue::Flag(flag) => usize::from(self.flag(flag)?),
                KeyValue::Number(number) => {
                    let value = settled(self.number(number)?);
                    match key {
                        GridKey::Bands(ends) => ends.partition_point(|end| value > *end),
                        GridKey::Words(_) => 0,
                    }
                }
            };
            at = at * key.size() + place;
        }
        match grid.cells.get(at) {
            Some(row) => Ok(*row),
            None => self.wrong_fact(note, 0),
        }
    }
}

/// Values that are computed once. The check has refused circles, so that this ends.
macro_rules! derived {
    ($name:ident, $values:ident, $type:ty, $of:ident) => {
        fn $name(&mut self, note: NoteId, slot: usize) -> Eval<$type> {
            if let Some(Some(value)) = self.$values.get(slot) {
                return Ok(*value);
            }
            let program = self.program;
            let Some(derived) = program.derived.$values.get(slot) else {
                return self.wrong_fact(note, slot);
            };
            let place = || Place::Derived {
                name: &derived.name,
            };
            let value = self
                .$of(&derived.formula, place)
                .map_err(|fault| Box::new(Slip::Elsewhere(*fault)))?;
            if let Some(known) = self.$values.get_mut(slot) {
                *known = Some(value);
            }
            Ok(value)
        }
    };
}

impl<'p, const EXPLAIN: bool> Machine<'p, '_, EXPLAIN> {
    derived!(derived_number, numbers, Decimal, number_of);
    derived!(derived_flag, flags, bool, flag_of);
    derived!(derived_choice, choices, WordNumber, choice_of);
}

/// A fault of a formula, with its place.
pub(super) fn place_fault<T>(
    formula: &Formula<T>,
    note: NoteId,
    place: Place<'_>,
    reason: RunReason,
) -> RunFault {
    let span = formula.notes.get(note as usize).map(|note| note.span);
    let part = span.map(|span| span.of(&formula.text)).unwrap_or_default();
    let (assembly, line) = match place {
        Place::Assembly { assembly } => (Some(assembly.code.to_string()), None),
        Place::Line { line, .. } => (Some(line.assembly.code.to_string()), Some(line.number)),
        _ => (None, None),
    };
    RunFault {
        place: place.to_string(),
        assembly,
        line,
        formula: formula.text.as_str().to_owned(),
        position: None,
        written: span.map(|span| (formula.text.clone(), span)),
        part: part.to_owned(),
        reason,
    }
}
