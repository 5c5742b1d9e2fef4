//! Look-ups of tables by numbers: points beyond the ends of a line, and rows whose band no job comes to.

use super::super::decide::{Case, Decider};
use super::super::finding::Findings;
use super::super::formula::{Flaw, Join};
use super::super::program::{
    ChoiceOp, Flag, FlagOp, Grid, GridKey, KeyValue, Number, NumberOp, Part, Program,
};
use super::super::rulebook::Rulebook;
use super::conditions::LineCases;
use super::formulas::{Written, each};
use super::scope::TableHead;
use crate::rules::program::Kind;
use std::collections::HashMap;
use std::sync::Arc;

/// A table by the type of its values and its place among those.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
enum Looked {
    Number(usize),
    Flag(usize),
    Choice(usize),
}

/// Of each key of a table, whether some look-up may lead to each place.
type Reached = HashMap<Looked, Vec<Vec<bool>>>;

struct Lookups<'a, 'f> {
    findings: &'a mut Findings<'f>,
    program: &'a Program,
    decider: &'a Decider<'a>,
    reached: Reached,
}

/// Tells of numbers that may lie beyond the ends of a line which says nothing of that, and of rows that no job
/// comes to.
pub(super) fn tell(
    findings: &mut Findings<'_>,
    rulebook: &Rulebook,
    program: &Program,
    decider: &Decider<'_>,
    lines: &LineCases,
    heads: &HashMap<Arc<str>, TableHead>,
) {
    let mut lookups = Lookups {
        findings,
        program,
        decider,
        reached: HashMap::new(),
    };
    each(rulebook, program, decider, lines, &mut |written| {
        // The table of a factor may begin where the factor adds nothing yet.
        let cases = match written.field {
            "add" => vec![Case::default()],
            _ => written.cases.to_vec(),
        };
        lookups.part(&written, written.tree, cases);
    });
    let Lookups {
        findings, reached, ..
    } = lookups;
    for table in &rulebook.tables {
        let Some(head) = heads.get(&*table.name) else {
            continue;
        };
        let tables = &program.tables;
        let (looked, grid) = match head.value {
            Kind::Number(_) if head.curve.is_some() => continue,
            Kind::Number(_) => (
                Looked::Number(head.slot),
                tables.numbers.get(head.slot).map(|table| &table.grid),
            ),
            Kind::Flag => (
                Looked::Flag(head.slot),
                tables.flags.get(head.slot).map(|table| &table.grid),
            ),
            Kind::Choice(_) => (
                Looked::Choice(head.slot),
                tables.choices.get(head.slot).map(|table| &table.grid),
            ),
        };
        let (Some(grid), Some(reached)) = (grid, reached.get(&looked)) else {
            continue;
        };
        let part = format!("table {}", table.name.as_str());
        for row in missed(grid, reached).filter_map(|row| table.rows.get(row)) {
            let flaw = Flaw::new(
                row.span,
                "never_looked_up",
                "no job comes to this row: the numbers that the table is looked up by lie elsewhere",
            );
            findings.warning(&part, "rows", flaw);
        }
    }
}

/// Rows all of whose cells lie in a band that is never looked up. The last band takes what no other does, and is
/// needed even so.
fn missed<'a>(grid: &'a Grid, reached: &'a [Vec<bool>]) -> impl Iterator<Item = usize> + 'a {
    let rows = grid.cells.iter().max().map_or(0, |last| *last as usize + 1);
    let mut live = vec![false; rows];
    for (at, row) in grid.cells.iter().enumerate() {
        let mut rest = at;
        let mut comes = true;
        for (key, reached) in grid.keys.iter().zip(reached).rev() {
            let size = key.size().max(1);
            let place = rest % size;
            rest /= size;
            let needed = matches!(key, GridKey::Words(_)) || place + 1 == size;
            comes &= needed || reached.get(place).copied().unwrap_or(true);
        }
        if let Some(live) = live.get_mut(*row as usize) {
            *live |= comes;
        }
    }
    live.into_iter()
        .enumerate()
        .filter_map(|(row, live)| (!live).then_some(row))
}

impl Lookups<'_, '_> {
    /// Looks through a part that is computed in these cases.
    fn part(&mut self, of: &Written<'_>, part: Part<'_>, cases: Vec<Case>) {
        if cases.is_empty() {
            return;
        }
        match part {
            Part::Number(number) => self.number(of, number, cases),
            Part::Flag(flag) => self.flag(of, flag, cases),
            Part::Choice(choice) => match &choice.op {
                ChoiceOp::If(condition, branches) => {
                    let [yes, no] = &**branches;
                    self.branches(of, condition, Part::Choice(yes), Part::Choice(no), cases);
                }
                ChoiceOp::Cell(table, keys) => self.cell(of, Looked::Choice(*table), keys, cases),
                ChoiceOp::Given(_) | ChoiceOp::Fact(_) | ChoiceOp::Derived(_) => {}
            },
        }
    }

    fn branches(
        &mut self,
        of: &Written<'_>,
        condition: &Flag,
        yes: Part<'_>,
        no: Part<'_>,
        cases: Vec<Case>,
    ) {
        self.flag(of, condition, cases.clone());
        let (held, failed) = (
            self.decider.where_holds(condition, cases.clone()),
            self.decider.where_fails(condition, cases),
        );
        self.part(of, yes, held);
        self.part(of, no, failed);
    }

    fn number(&mut self, of: &Written<'_>, number: &Number, cases: Vec<Case>) {
        match &number.op {
            NumberOp::If(condition, branches) => {
                let [yes, no] = &**branches;
                self.branches(of, condition, Part::Number(yes), Part::Number(no), cases);
            }
            NumberOp::Cell(table, keys) => self.cell(of, Looked::Number(*table), keys, cases),
            NumberOp::Curve(curve, keys, at) => {
                self.curve(of, number, *curve, keys, at, &cases);
                self.number(of, at, cases.clone());
                self.keys(of, keys, &cases);
            }
            NumberOp::Given(_) | NumberOp::Fact(_) | NumberOp::Derived(_) => {}
            _ => self.below(of, Part::Number(number), &cases),
        }
    }

    fn flag(&mut self, of: &Written<'_>, flag: &Flag, cases: Vec<Case>) {
        match &flag.op {
            FlagOp::Logic(join, sides) => {
                let [left, right] = &**sides;
                self.flag(of, left, cases.clone());
                // The right side is computed only where the left one leaves it open.
                let open = match join {
                    Join::And => self.decider.where_holds(left, cases),
                    Join::Or => self.decider.where_fails(left, cases),
                };
                self.part(of, Part::Flag(right), open);
            }
            FlagOp::If(parts) => {
                let [condition, yes, no] = &**parts;
                self.branches(of, condition, Part::Flag(yes), Part::Flag(no), cases);
            }
            FlagOp::Cell(table, keys) => self.cell(of, Looked::Flag(*table), keys, cases),
            FlagOp::Given(_) | FlagOp::Fact(_) | FlagOp::Derived(_) => {}
            _ => self.below(of, Part::Flag(flag), &cases),
        }
    }

    fn below(&mut self, of: &Written<'_>, part: Part<'_>, cases: &[Case]) {
        for part in part.below() {
            self.part(of, part, cases.to_vec());
        }
    }

    fn keys(&mut self, of: &Written<'_>, keys: &[KeyValue], cases: &[Case]) {
        for key in keys {
            self.part(of, Part::key(key), cases.to_vec());
        }
    }

    /// Notes the places that this look-up may lead to.
    fn cell(&mut self, of: &Written<'_>, looked: Looked, keys: &[KeyValue], cases: Vec<Case>) {
        let tables = &self.program.tables;
        let grid = match looked {
            Looked::Number(at) => tables.numbers.get(at).map(|table| &table.grid),
            Looked::Flag(at) => tables.flags.get(at).map(|table| &table.grid),
            Looked::Choice(at) => tables.choices.get(at).map(|table| &table.grid),
        };
        if let Some(grid) = grid {
            let known = self.reached.entry(looked).or_default();
            known.resize(grid.keys.len(), Vec::new());
            for ((key, value), known) in grid.keys.iter().zip(keys).zip(known) {
                known.resize(key.size(), false);
                if let GridKey::Bands(ends) = key {
                    let bands = self.decider.reached_bands(value, ends, &cases);
                    known.iter_mut().zip(bands).for_each(|(known, now)| *known |= now);
                }
            }
        }
        self.keys(of, keys, &cases);
    }

    /// Tells of a point that may lie beyond the ends of a line that does not hold there.
    fn curve(
        &mut self,
        of: &Written<'_>,
        node: &Number,
        curve: usize,
        keys: &[KeyValue],
        at: &Number,
        cases: &[Case],
    ) {
        let Some(curve) = self.program.tables.curves.get(curve).filter(|curve| !curve.clamp) else {
            return;
        };
        let Some((lowest, highest)) = self.decider.beyond(curve, keys, at, cases) else {
            return;
        };
        let note = of.notes.get(node.note as usize).map(|note| note.span);
        let span = note.map_or(of.text.span(), |span| of.text.place(span, self.findings.file()));
        let message = format!(
            "a job may ask table {} for a {} that it does not go to",
            curve.name, curve.key
        );
        let flaw = Flaw::new(span, "outside_table", message).expected(format!(
            "a number from {lowest} to {highest} on every job, such as by clamp(…), or clamp = true at the key"
        ));
        self.findings.error(of.part, of.field, flaw);
    }
}
