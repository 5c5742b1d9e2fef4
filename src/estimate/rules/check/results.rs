//! Results that a formula may not have: a division by zero, a number too large, a quantity below zero; decided
//! over the choices and bounds of the form.

use super::super::decide::{Decider, Figures, Range, Trouble};
use super::super::finding::Findings;
use super::super::formula::Flaw;
use super::super::program::{MOST_WASTE, NoteId, Part, Program};
use super::super::rulebook::Rulebook;
use super::super::span::Span;
use super::behind::facts_behind;
use super::conditions::LineCases;
use super::formulas::{Written, each};
use crate::quantity::decimal::plain;
use rust_decimal::Decimal;

/// Fields whose number may not be below zero.
const NOT_NEGATIVE: [&str; 5] = ["quantity", "waste", "hours", "crew", "amount"];

/// What a factor that is meant as a percentage does not go beyond.
const MOST_ADDED: Decimal = Decimal::ONE;

/// Results are kept to six decimals: less than this is nothing.
const LEAST_KEPT: Decimal = Decimal::from_parts(5, 0, 0, false, 7);

/// Tells of every step that could have no result on some job, and of every result that may not stand where it
/// would.
pub(super) fn tell(
    findings: &mut Findings<'_>,
    rulebook: &Rulebook,
    program: &Program,
    decider: &Decider<'_>,
    lines: &LineCases,
) {
    let figures = Figures::new(decider);
    each(rulebook, program, decider, lines, &mut |written| {
        let mut troubles = Vec::new();
        let range = figures.part(written.tree, written.cases, &mut troubles);
        let mut told = Vec::new();
        for trouble in troubles {
            let (note, flaw) = step(program, trouble);
            let span = place(&written, findings, note);
            if !told.contains(&span) {
                told.push(span);
                findings.error(written.part, written.field, Flaw { span, ..flaw });
            }
        }
        if let Some(range) = range {
            below(findings, program, &written, range);
            too_much(findings, program, &written, range);
            added_too_much(findings, program, &written, range);
            nobody(findings, &written, range);
            too_little(findings, &written, range);
        }
    });
}

/// Where a node of a formula was written.
fn place(written: &Written<'_>, findings: &Findings<'_>, note: NoteId) -> Span {
    let note = written.notes.get(note as usize).map(|note| note.span);
    note.map_or(written.text.span(), |span| {
        written.text.place(span, findings.file())
    })
}

fn step(program: &Program, trouble: Trouble<'_>) -> (NoteId, Flaw) {
    let (node, code, message, instead) = match trouble {
        Trouble::Divisor(divisor, range) => {
            let message = match range.only() {
                Some(_) => "this divides by zero",
                None => "this divisor can be zero on some job",
            };
            let instead = "a divisor that is never zero: such as by max(…, 1 ft), or computed only where a \
                           condition rules zero out (if … > 0 ft then … else …)";
            (divisor, "may_divide_by_zero", message, instead)
        }
        Trouble::Large(node) => {
            let message =
                "this can come to more than 28 digits on some job, which is more than a number may have";
            let instead = "a smaller result, such as by min(…) or clamp(…)";
            (node, "may_be_too_large", message, instead)
        }
    };
    let expected = match facts_behind(program, Part::Number(node)) {
        Some(facts) => format!("{instead}; {facts}"),
        None => instead.to_owned(),
    };
    (
        node.note,
        Flaw::new(Span::default(), code, message).expected(expected),
    )
}

/// Tells of a quantity below zero, and of a factor that takes all hours away.
fn below(findings: &mut Findings<'_>, program: &Program, written: &Written<'_>, range: Range) {
    let is_factor = is_factor(written);
    let (always, may, instead) = if is_factor {
        // Minus one takes every hour away.
        let above = Decimal::NEGATIVE_ONE;
        let (always, may) = (range.is_at_most(above), !range.is_above(above));
        (always, may, "more than -100 %")
    } else if NOT_NEGATIVE.contains(&written.field) {
        let (always, may) = (range.is_below(Decimal::ZERO), !range.is_at_least(Decimal::ZERO));
        (
            always,
            may,
            "0 or more on every job, such as by max(…, 0 ft) with the unit of the quantity",
        )
    } else {
        return;
    };
    if !may {
        return;
    }
    let expected = match facts_behind(program, written.tree) {
        Some(facts) => format!("{instead}; {facts}"),
        None => instead.to_owned(),
    };
    let limit = if is_factor { "-100 %" } else { "zero" };
    let told = |code, message: String| written.text.whole(code, message).expected(expected);
    if always {
        let flaw = told(
            "always_negative",
            format!("this is below {limit} on every job that it is computed on"),
        );
        findings.error(written.part, written.field, flaw);
    } else {
        let flaw = told(
            "may_be_negative",
            format!("this may come to less than {limit} on some job, which could then not be priced"),
        );
        findings.warning(written.part, written.field, flaw);
    }
}

/// Whether it is what a labour factor adds.
fn is_factor(written: &Written<'_>) -> bool {
    written.field == "add" && written.part.starts_with("labour factor")
}

/// Tells of a factor that always adds more than all factors together may, or more than the hours themselves.
fn added_too_much(findings: &mut Findings<'_>, program: &Program, written: &Written<'_>, range: Range) {
    if !is_factor(written) || !range.is_above(MOST_ADDED) {
        return;
    }
    let meant = range.only().map(|value| format!("{} %", plain(value)));
    let most = program.max_factor.and_then(|most| most.checked_sub(Decimal::ONE));
    if let Some(most) = most.filter(|most| range.is_above(*most)) {
        let limit = format!("{} or less: max_factor of [labour] less 1", plain(most));
        let message = "this adds more to the hours than all factors together may";
        let flaw = written.text.whole("always_beyond_max_factor", message);
        findings.error(written.part, written.field, flaw.expected(limit).suggest(meant));
    } else {
        let message = "this more than doubles the hours";
        let flaw = written.text.whole("more_than_doubles", message);
        let limit = "100 % or less: what a factor adds is a fraction of the hours";
        findings.warning(written.part, written.field, flaw.expected(limit).suggest(meant));
    }
}

/// Tells of a task that nobody does.
fn nobody(findings: &mut Findings<'_>, written: &Written<'_>, range: Range) {
    if written.field != "crew" || !range.is_at_most(Decimal::ZERO) || range.is_below(Decimal::ZERO) {
        return;
    }
    let flaw = written.text.whole(
        "no_crew",
        "a crew of nobody: this task is on no bill, whatever its hours",
    );
    findings.error(written.part, written.field, flaw.expected("more than 0"));
}

/// Tells of what is not nothing and is kept as nothing.
fn too_little(findings: &mut Findings<'_>, written: &Written<'_>, range: Range) {
    let kept = ["quantity", "hours", "amount"].contains(&written.field);
    if !kept || range.is_at_most(Decimal::ZERO) || !range.is_below(LEAST_KEPT) {
        return;
    }
    let message = "this is less than a millionth on every job, and is kept as nothing";
    let flaw = written.text.whole("kept_as_nothing", message);
    findings.warning(
        written.part,
        written.field,
        flaw.expected("0 where nothing is meant, or 0.000001 or more"),
    );
}

/// Tells of a waste that is more than the quantity itself.
fn too_much(findings: &mut Findings<'_>, program: &Program, written: &Written<'_>, range: Range) {
    if written.field != "waste" || range.is_at_most(MOST_WASTE) {
        return;
    }
    let limit = "100 % or less: waste is a fraction of the quantity";
    let expected = match facts_behind(program, written.tree) {
        Some(facts) => format!("{limit}; {facts}"),
        None => limit.to_owned(),
    };
    let told = |code, message: &str| written.text.whole(code, message).expected(expected);
    if range.is_above(MOST_WASTE) {
        let meant = range.only().map(|value| format!("{} %", plain(value)));
        let flaw = told(
            "always_too_much_waste",
            "this adds more for waste than is needed at all",
        );
        findings.error(written.part, written.field, flaw.suggest(meant));
    } else {
        let flaw = told(
            "may_be_too_much_waste",
            "this may add more for waste than is needed at all on some job, which could then not be priced",
        );
        findings.warning(written.part, written.field, flaw);
    }
}
