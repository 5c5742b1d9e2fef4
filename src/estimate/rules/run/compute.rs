//! Single operations, each checked.

use super::super::formula::{Compare, Sum};
use super::super::program::{Curve, NoteId};
use super::fault::RunReason;
use super::machine::{Eval, Slip};
use crate::quantity::rounding::{Mode, to_scale};
use rust_decimal::Decimal;

/// Decimals beyond this are dropped before two numbers are compared, as they are before rounding to
/// a step: `1/3*3` is not less than 1.
const SETTLED_SCALE: u32 = 20;

pub(super) fn settled(value: Decimal) -> Decimal {
    if value.scale() > SETTLED_SCALE {
        to_scale(value, SETTLED_SCALE, Mode::HalfUp)
    } else {
        value
    }
}

pub(super) fn slip<T>(note: NoteId, reason: RunReason) -> Eval<T> {
    Err(Box::new(Slip::Here(note, reason)))
}

pub(super) fn fits(note: NoteId, value: Option<Decimal>) -> Eval<Decimal> {
    value.ok_or_else(|| Box::new(Slip::Here(note, RunReason::Overflow)))
}

pub(super) fn arithmetic(note: NoteId, sum: Sum, left: Decimal, right: Decimal) -> Eval<Decimal> {
    let value = match sum {
        Sum::Add => left.checked_add(right),
        Sum::Subtract => left.checked_sub(right),
        Sum::Multiply => left.checked_mul(right),
        Sum::Divide if right.is_zero() => return slip(note, RunReason::DivisionByZero),
        Sum::Divide => left.checked_div(right),
    };
    fits(note, value)
}

pub(super) fn compared(compare: Compare, left: Decimal, right: Decimal) -> bool {
    match compare {
        Compare::Equal => left == right,
        Compare::Unequal => left != right,
        Compare::Less => left < right,
        Compare::AtMost => left <= right,
        Compare::More => left > right,
        Compare::AtLeast => left >= right,
    }
}

/// The value of a curve at a point, and the row that it comes from, the lower one of two.
pub(super) fn interpolate(note: NoteId, curve: &Curve, line: usize, at: Decimal) -> Eval<(Decimal, u32)> {
    let points = curve.lines.get(line).map(Vec::as_slice).unwrap_or_default();
    let ([first, ..], [.., last]) = (points, points) else {
        return slip(
            note,
            RunReason::WrongFacts {
                name: curve.key.to_string(),
            },
        );
    };
    if at < first.at || at > last.at {
        if !curve.clamp {
            return slip(
                note,
                RunReason::OutsideTable {
                    table: curve.name.to_string(),
                    key: curve.key.to_string(),
                    value: at.normalize(),
                    lowest: first.at,
                    highest: last.at,
                },
            );
        }
        let end = if at < first.at { first } else { last };
        return Ok((end.value, end.row));
    }
    let above = points.partition_point(|point| point.at < at);
    let high = points.get(above).unwrap_or(last);
    let low = above
        .checked_sub(1)
        .and_then(|below| points.get(below))
        .unwrap_or(high);
    if high.at == at || high.at == low.at {
        return Ok((high.value, high.row));
    }
    let between = || {
        let rise = high
            .value
            .checked_sub(low.value)?
            .checked_mul(at.checked_sub(low.at)?)?;
        low.value
            .checked_add(rise.checked_div(high.at.checked_sub(low.at)?)?)
    };
    Ok((fits(note, between())?, low.row))
}
