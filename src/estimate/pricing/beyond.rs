//! Amounts beyond any job: a slip of a figure that a person gave.

use super::fault::PricingFault;
use super::result::{Line, Lines};
use crate::bill::LineKey;
use crate::bill::line::Content;
use crate::quantity::{Currency, Money};

/// Every line with a figure by hand that costs more, or takes more off, than one amount by hand may come to.
pub(super) fn lines(lines: &Lines<'_>, currency: Currency) -> Vec<PricingFault> {
    let most = currency.given_most();
    let over = lines.iter().filter(|line| line.cost.exceeds(most));
    let told = over.filter_map(|line| {
        Some(PricingFault::Beyond {
            pointer: Some(place(&line)?),
            what: format!("the cost of line {}", line.bill.key),
            came: line.cost,
            most,
        })
    });
    told.collect()
}

/// The fault of an amount of the whole job that is more than any job comes to. The largest line is named, and its place
/// in the request where a figure of it was given by hand.
pub(super) fn amount(lines: &Lines<'_>, what: &str, came: Money) -> Result<(), PricingFault> {
    let most = came.currency().estimate_most();
    if !came.exceeds(most) {
        return Ok(());
    }
    let largest = lines
        .iter()
        .max_by_key(|line| line.cost.minor().max(line.price.minor()));
    Err(PricingFault::Beyond {
        pointer: largest.as_ref().and_then(place),
        what: match &largest {
            Some(line) => format!("the {what} of the job, line {} its largest,", line.bill.key),
            None => format!("the {what} of the job"),
        },
        came,
        most,
    })
}

/// Where the request gives a figure of the line.
fn place(line: &Line<'_, '_>) -> Option<String> {
    if let Some(fixed) = &line.bill.fixed {
        return Some(format!("/overrides/{}/price", fixed.index));
    }
    if let Some(replaced) = line.bill.replaced.last() {
        return Some(format!("/overrides/{}/{}", replaced.index, replaced.field));
    }
    let LineKey::Manual { number } = line.bill.key else {
        return None;
    };
    let member = match line.bill.content {
        Content::Work(_) => "hours",
        Content::Goods(_) | Content::Sum(_) => "unit_cost",
    };
    Some(format!("/manual_lines/{}/{member}", number.checked_sub(1)?))
}
