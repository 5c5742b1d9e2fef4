//! What a request may name beside the words of the form: labour classes, tax categories, lines, the currency.
//!
//! They are judged in the normal tree, also where the job or another member has a fault.

use std::collections::HashSet;

use serde_json::Value;

use super::super::fault::{Fault, FaultCode, Gathered};
use crate::quantity::unit::Unit;
use crate::quantity::{Currency, nearest};

/// Names for which a likely one is looked for; beyond these a request is no slip.
const HINTS: usize = 20;
/// Names told when one is unknown.
const NAMED: usize = 24;

/// What a request may name. What is `None` is not judged.
#[derive(Debug, Clone, Copy, Default)]
pub struct Names<'a> {
    /// Codes of the labour classes.
    pub labour_classes: Option<&'a [String]>,
    /// Codes of the policy's tax categories.
    pub tax_categories: Option<&'a [String]>,
    /// Cost codes that the catalogue and the rulebook use, and those of the policy.
    pub cost_codes: Option<[&'a [String]; 2]>,
    /// The catalogue's items, in the order of their codes, each with its unit.
    pub items: Option<&'a [(String, Unit)]>,
    /// Keys of every line that the rulebook, the catalogue and the policy can make, in order.
    pub lines: Option<&'a [String]>,
    /// The company's currency.
    pub currency: Option<Currency>,
}

/// Finds every name that is not known. `tree` is a request in normal form.
pub(super) fn judge(names: Names<'_>, tree: &Value, faults: &mut Gathered) {
    let mut judge = Judge {
        names,
        faults,
        hints: HINTS,
    };
    judge.currency("/discount/amount", tree.pointer("/discount/amount"));
    let manual = entries(tree, "manual_lines");
    for (index, line) in manual.iter().enumerate() {
        for (member, what, known) in [
            (
                "labour_class",
                "labour class",
                names.labour_classes.map(|known| [known, &[]]),
            ),
            (
                "tax_category",
                "tax category",
                names.tax_categories.map(|known| [known, &[]]),
            ),
            ("cost_code", "cost code", names.cost_codes),
        ] {
            let came = line.get(member).and_then(Value::as_str);
            if let (Some(came), Some(known)) = (came, known) {
                judge.code(format!("/manual_lines/{index}/{member}"), what, came, known);
            }
        }
        judge.currency(&format!("/manual_lines/{index}/unit_cost"), line.get("unit_cost"));
        judge.unit(format!("/manual_lines/{index}/quantity/unit"), line);
    }
    for (index, change) in entries(tree, "overrides").iter().enumerate() {
        for figure in ["price", "unit_cost"] {
            judge.currency(&format!("/overrides/{index}/{figure}"), change.get(figure));
        }
        if let Some(key) = change.get("line").and_then(Value::as_str) {
            judge.line(format!("/overrides/{index}/line"), key, manual.len());
        }
    }
}

fn entries<'t>(tree: &'t Value, of: &str) -> &'t [Value] {
    let list = tree.get(of).and_then(Value::as_array);
    list.map_or(&[], Vec::as_slice)
}

struct Judge<'a, 'f> {
    names: Names<'a>,
    faults: &'f mut Gathered,
    hints: usize,
}

impl Judge<'_, '_> {
    fn code(&mut self, pointer: String, what: &str, came: &str, known: [&[String]; 2]) {
        let mut known: Vec<&str> = known.into_iter().flatten().map(String::as_str).collect();
        if known.contains(&came) {
            return;
        }
        let mut told = HashSet::new();
        known.retain(|code| told.insert(*code));
        self.faults
            .push(Fault::unknown_name(pointer, what, came, known.into_iter()));
    }

    /// A line whose code is that of an item is counted as the item is.
    fn unit(&mut self, pointer: String, line: &Value) {
        let code = line.get("code").and_then(Value::as_str);
        let came = line.pointer("/quantity/unit").and_then(Value::as_str);
        let (Some(items), Some(code), Some(came)) = (self.names.items, code, came) else {
            return;
        };
        let place = items.binary_search_by(|(item, _)| item.as_str().cmp(code));
        let Some((_, own)) = place.ok().and_then(|place| items.get(place)) else {
            return;
        };
        if Unit::parse(came).is_ok_and(|unit| unit.same_dimension(own)) {
            return;
        }
        let measures = own.dimension();
        self.faults.push(Fault {
            pointer,
            code: FaultCode::WrongDimension,
            came: came.to_owned(),
            allowed: format!("a unit of {measures}, such as {own}"),
            message: format!("item {code} is counted in {own} ({measures}), and not in {came}"),
        });
    }

    fn line(&mut self, pointer: String, came: &str, manual: usize) {
        let Some(known) = self.names.lines else { return };
        let by_hand = |number: &str| {
            number
                .parse()
                .is_ok_and(|number: usize| (1..=manual).contains(&number))
        };
        let is_there = match came.strip_prefix("manual:") {
            Some(number) => by_hand(number),
            None => known.binary_search_by(|key| key.as_str().cmp(came)).is_ok(),
        };
        if is_there {
            return;
        }
        let hint = match self.hints.checked_sub(1) {
            Some(left) => {
                self.hints = left;
                nearest::hint(came, known.iter().map(String::as_str))
            }
            None => String::new(),
        };
        self.faults.push(Fault {
            pointer,
            code: FaultCode::UnknownName,
            came: came.to_owned(),
            allowed: "the key of a line, as an estimate of the job gives it".to_owned(),
            message: format!("neither the rulebook nor the policy makes a line {came}{hint}"),
        });
    }

    fn currency(&mut self, place: &str, amount: Option<&Value>) {
        let came = amount.and_then(|amount| amount.get("currency")?.as_str());
        if let (Some(currency), Some(came)) = (self.names.currency, came)
            && came != currency.code()
        {
            self.faults
                .push(Fault::other_currency(format!("{place}/currency"), came, currency));
        }
    }
}

impl Fault {
    /// A name that nothing here has.
    pub fn unknown_name<'k>(
        pointer: String,
        what: &str,
        came: &str,
        known: impl Iterator<Item = &'k str> + Clone,
    ) -> Self {
        let hint = nearest::hint(came, known.clone());
        let told: Vec<&str> = known.clone().take(NAMED).collect();
        let more = if known.clone().nth(NAMED).is_some() {
            ", …"
        } else {
            ""
        };
        Self {
            pointer,
            code: FaultCode::UnknownName,
            came: came.to_owned(),
            allowed: format!("one of {}{more}", told.join(", ")),
            message: format!("there is no {what} {came}{hint}"),
        }
    }

    /// An amount in another currency than the company's.
    pub fn other_currency(pointer: String, came: &str, currency: Currency) -> Self {
        Self {
            pointer,
            code: FaultCode::OtherCurrency,
            came: came.to_owned(),
            allowed: currency.code().to_owned(),
            message: format!(
                "the amount is in {came}; the company's currency is {}",
                currency.code()
            ),
        }
    }
}
