//! Single answers: texts, numbers, quantities, words.

use chrono::{Datelike, NaiveDate};
use serde_json::{Map, Value};

use super::Reader;
use crate::job::fault::{FaultCode, describe, shorten};
use crate::job::form::{Shape, Words};
use crate::quantity::decimal::{self, DecimalFault, QUANTITY_SCALE, plain};
use crate::quantity::money::{Currency, MoneyFault};
use crate::quantity::rounding::{Mode, to_scale};
use crate::quantity::unit::{Unit, UnitFault};
use crate::quantity::{Decimal, nearest};

/// Decimals kept of a quantity that came in another unit than the form's.
const CONVERTED_SCALE: u32 = 4;
/// Decimals shown of a bound in another unit than the form's.
const SHOWN_SCALE: u32 = 4;
/// Words named when an unknown one came.
const WORDS_NAMED: usize = 30;
/// Years that a date may have.
const YEARS: std::ops::RangeInclusive<i32> = 1900..=2199;

/// What a shape allows, in a few words.
pub(super) fn allowed(shape: &Shape) -> String {
    match shape {
        Shape::Text { max } => format!("a text of at most {max} characters"),
        Shape::Code { max } => format!("a code of at most {max} letters, digits and . _ - / :"),
        Shape::Date => "a date such as 2031-03-04".to_owned(),
        Shape::Measure { unit, min, max } => {
            format!("a quantity from {} {unit} to {} {unit}", plain(*min), plain(*max))
        }
        Shape::AnyQuantity { min, max } => {
            format!("a quantity from {} to {} in any unit", plain(*min), plain(*max))
        }
        Shape::Number { min, max, scale } => {
            format!(
                "a number from {} to {} with at most {scale} decimals",
                plain(*min),
                plain(*max)
            )
        }
        Shape::Money => {
            "an amount such as {\"amount\": \"12.50\", \"currency\": \"USD\"}, not below zero".to_owned()
        }
        Shape::Count { min, max } => format!("a whole number from {min} to {max}"),
        Shape::Flag => "true or false".to_owned(),
        Shape::Choice(words) => {
            let named: Vec<&str> = words.iter().take(WORDS_NAMED).collect();
            let more = if words.iter().nth(WORDS_NAMED).is_some() {
                ", …"
            } else {
                ""
            };
            format!("one of {}{more}", named.join(", "))
        }
        Shape::Group(_) | Shape::Job | Shape::Open => "an object".to_owned(),
        Shape::List { min, max, .. } => format!("a list of {min} to {max} entries"),
    }
}

impl Reader<'_> {
    /// One answer in normal form; `None` when it has a fault.
    pub(super) fn leaf(&mut self, shape: &Shape, title: &str, value: &Value) -> Option<Value> {
        match (shape, value) {
            (Shape::Text { max }, Value::String(text)) => self.text(*max, title, text),
            (Shape::Code { max }, Value::String(text)) => self.code(*max, title, text),
            (Shape::Date, Value::String(text)) => self.date(title, text),
            (Shape::Measure { unit, min, max }, Value::Object(members)) => {
                self.measure(*unit, *min, *max, title, members)
            }
            (Shape::AnyQuantity { min, max }, Value::Object(members)) => {
                let (value, unit) = self.quantity(title, members)?;
                self.within(value, (*min, *max), "", title)?;
                Some(quantity_tree(value, &unit))
            }
            (Shape::Number { min, max, scale }, Value::String(_) | Value::Number(_)) => {
                let number = self.number(value, *scale, title)?;
                self.within(number, (*min, *max), "", title)?;
                Some(Value::String(plain(number)))
            }
            (Shape::Money, Value::Object(members)) => self.money(title, members),
            (Shape::Count { min, max }, Value::String(_) | Value::Number(_)) => {
                self.count(*min, *max, title, value)
            }
            (Shape::Flag, Value::Bool(flag)) => Some(Value::Bool(*flag)),
            (Shape::Choice(words), Value::String(word)) => self.choice(words, title, word),
            (Shape::Measure { unit, .. }, _) => {
                self.wrong_type(
                    title,
                    value,
                    &format!("a quantity such as {{\"value\": \"12\", \"unit\": \"{unit}\"}}"),
                );
                None
            }
            _ => {
                self.wrong_type(title, value, &allowed(shape));
                None
            }
        }
    }

    fn text(&mut self, max: usize, title: &str, text: &str) -> Option<Value> {
        let length = text.chars().count();
        let allowed = format!("a text of at most {max} characters");
        if length > max {
            let message = format!("{title} has {length} characters; the most is {max}");
            self.fault(
                FaultCode::TooLong,
                format!("{length} characters"),
                allowed,
                message,
            );
            return None;
        }
        if text.trim().is_empty() {
            let message = format!("{title} is empty");
            self.fault(FaultCode::BadText, describe_text(text), allowed, message);
            return None;
        }
        if text
            .chars()
            .any(|sign| sign.is_control() && sign != '\n' && sign != '\t')
        {
            let message = format!("{title} has control characters in it");
            self.fault(FaultCode::BadText, describe_text(text), allowed, message);
            return None;
        }
        Some(Value::String(text.to_owned()))
    }

    fn code(&mut self, max: usize, title: &str, text: &str) -> Option<Value> {
        let of_a_code = |sign: char| sign.is_ascii_alphanumeric() || "._-/:".contains(sign);
        if text.is_empty() || text.len() > max || !text.chars().all(of_a_code) {
            let message = format!("{title} is {}, which is not a code", describe_text(text));
            let allowed = allowed(&Shape::Code { max });
            self.fault(FaultCode::BadText, describe_text(text), allowed, message);
            return None;
        }
        Some(Value::String(text.to_owned()))
    }

    fn date(&mut self, title: &str, text: &str) -> Option<Value> {
        let date = (text.len() == 10)
            .then(|| NaiveDate::parse_from_str(text, "%Y-%m-%d").ok())
            .flatten()
            .filter(|date| YEARS.contains(&date.year()));
        if let Some(date) = date {
            return Some(Value::String(date.to_string()));
        }
        let message = format!(
            "{title} is {}, which is not a date such as 2031-03-04",
            describe_text(text)
        );
        self.fault(
            FaultCode::BadDate,
            describe_text(text),
            allowed(&Shape::Date),
            message,
        );
        None
    }

    fn choice(&mut self, words: &Words, title: &str, word: &str) -> Option<Value> {
        if words.position(word).is_some() {
            return Some(Value::String(word.to_owned()));
        }
        let hint = nearest::name(word, words.iter())
            .map(|near| format!("; did you mean {near}?"))
            .unwrap_or_default();
        let allowed = allowed(&Shape::Choice(words.clone()));
        let message = format!("{title} is {}; it must be {allowed}{hint}", describe_text(word));
        self.fault(FaultCode::UnknownWord, describe_text(word), allowed, message);
        None
    }

    fn count(&mut self, min: u32, max: u32, title: &str, value: &Value) -> Option<Value> {
        let number = self.number(value, 0, title)?;
        self.within(number, (min.into(), max.into()), "", title)?;
        u32::try_from(number).ok().map(Value::from)
    }

    fn measure(
        &mut self,
        own: Unit,
        min: Decimal,
        max: Decimal,
        title: &str,
        members: &Map<String, Value>,
    ) -> Option<Value> {
        let (came, unit) = self.quantity(title, members)?;
        if unit == own {
            self.within(came, (min, max), &format!(" {own}"), title)?;
            return Some(quantity_tree(came, &own));
        }
        let value = match unit.convert(came, &own) {
            Ok(value) => value,
            Err(UnitFault::TooLarge { .. }) => {
                self.outside(came, (min, max), &unit, &own, title);
                return None;
            }
            Err(fault) => {
                self.at("unit", |this| {
                    let allowed = format!("a unit of {}, such as {own}", own.dimension());
                    let message = format!("{title} is given in {unit}: {fault}");
                    this.fault(FaultCode::WrongDimension, unit.symbol(), allowed, message);
                });
                return None;
            }
        };
        let kept = to_scale(value, CONVERTED_SCALE, Mode::HalfUp);
        if value < min || value > max || kept < min || kept > max {
            self.outside(came, (min, max), &unit, &own, title);
            return None;
        }
        Some(quantity_tree(kept, &own))
    }

    /// The bounds in the unit that came, and in the form's own.
    fn outside(&mut self, came: Decimal, bounds: (Decimal, Decimal), unit: &Unit, own: &Unit, title: &str) {
        let show = |bound: Decimal| {
            let converted = own.convert(bound, unit).unwrap_or(bound);
            plain(to_scale(converted, SHOWN_SCALE, Mode::HalfUp))
        };
        let (least, most) = (show(bounds.0), show(bounds.1));
        let (own_least, own_most) = (plain(bounds.0), plain(bounds.1));
        let allowed = format!("{least} {unit} to {most} {unit} ({own_least} {own} to {own_most} {own})");
        let message = format!("{title} is {} {unit}; allowed is {allowed}", plain(came));
        self.fault(
            FaultCode::OutOfBounds,
            format!("{} {unit}", plain(came)),
            allowed,
            message,
        );
    }

    fn within(&mut self, value: Decimal, bounds: (Decimal, Decimal), unit: &str, title: &str) -> Option<()> {
        if (bounds.0..=bounds.1).contains(&value) {
            return Some(());
        }
        let came = format!("{}{unit}", plain(value));
        let allowed = format!("{}{unit} to {}{unit}", plain(bounds.0), plain(bounds.1));
        let message = format!("{title} is {came}; allowed is {allowed}");
        self.fault(FaultCode::OutOfBounds, came, allowed, message);
        None
    }

    /// The value and the unit of a quantity object.
    fn quantity(&mut self, title: &str, members: &Map<String, Value>) -> Option<(Decimal, Unit)> {
        let (value, unit) = self.pair(title, members, ["value", "unit"])?;
        let number = self.at("value", |this| match value {
            Value::String(_) | Value::Number(_) => this.number(value, QUANTITY_SCALE, title),
            other => {
                this.wrong_type(title, other, "a number, as text or in digits");
                None
            }
        });
        let unit = self.at("unit", |this| {
            let Value::String(text) = unit else {
                this.wrong_type("the unit", unit, "a text such as ft");
                return None;
            };
            Unit::parse(text)
                .map_err(|fault| {
                    let message = format!("{title}: {}", shorten_message(&fault));
                    this.fault(
                        FaultCode::UnknownUnit,
                        describe_text(text),
                        "a unit such as ft",
                        message,
                    );
                })
                .ok()
        });
        Some((number?, unit?))
    }

    fn money(&mut self, title: &str, members: &Map<String, Value>) -> Option<Value> {
        let (amount, currency) = self.pair(title, members, ["amount", "currency"])?;
        let text = match amount {
            Value::String(text) => text.clone(),
            Value::Number(number) => number.to_string(),
            other => {
                self.at("amount", |this| {
                    this.wrong_type(title, other, "an amount such as \"12.50\"")
                });
                return None;
            }
        };
        let Value::String(code) = currency else {
            self.at("currency", |this| {
                this.wrong_type("the currency", currency, "an ISO 4217 code such as \"USD\"")
            });
            return None;
        };
        let money = Currency::parse(code).and_then(|currency| currency.amount(&text));
        match money {
            Ok(money) if money.minor() >= 0 => {
                let mut tree = Map::new();
                tree.insert("amount".to_owned(), Value::String(money.text()));
                tree.insert("currency".to_owned(), Value::String(code.clone()));
                Some(Value::Object(tree))
            }
            Ok(money) => {
                let message = format!("{title} is {money}; it must not be below zero");
                self.fault(
                    FaultCode::OutOfBounds,
                    money.to_string(),
                    allowed(&Shape::Money),
                    message,
                );
                None
            }
            Err(fault) => {
                let token = if matches!(fault, MoneyFault::UnknownCurrency(_)) {
                    "currency"
                } else {
                    "amount"
                };
                let came = if token == "currency" {
                    shorten(code)
                } else {
                    shorten(&text)
                };
                self.at(token, |this| {
                    let message = format!("{title}: {fault}");
                    this.fault(FaultCode::BadMoney, came, allowed(&Shape::Money), message);
                });
                None
            }
        }
    }

    /// The two members of a small object, and faults for all else in it.
    fn pair<'v>(
        &mut self,
        title: &str,
        members: &'v Map<String, Value>,
        names: [&str; 2],
    ) -> Option<(&'v Value, &'v Value)> {
        for (name, value) in members.iter().filter(|(name, _)| !names.contains(&name.as_str())) {
            self.at(name, |this| {
                let message = format!(
                    "{title}: there is no {} here, only {} and {}",
                    shorten(name),
                    names[0],
                    names[1]
                );
                this.fault(
                    FaultCode::UnknownField,
                    describe(value),
                    names.join(" and "),
                    message,
                );
            });
        }
        let [first, second] = names.map(|name| {
            let found = members.get(name);
            if found.is_none() {
                self.at(name, |this| {
                    let message = format!("{title}: the {name} is missing");
                    this.fault(FaultCode::Missing, "nothing", format!("a {name}"), message);
                });
            }
            found
        });
        Some((first?, second?))
    }

    /// A number as text or as JSON digits, never through a binary float.
    fn number(&mut self, value: &Value, scale: u32, title: &str) -> Option<Decimal> {
        let digits;
        let text = match value {
            Value::String(text) => text.as_str(),
            other => {
                digits = other.to_string();
                &digits
            }
        };
        match decimal::parse(text, scale) {
            Ok(number) => Some(number),
            Err(fault) => {
                let code = match fault {
                    DecimalFault::Grammar => FaultCode::BadNumber,
                    DecimalFault::TooLarge | DecimalFault::TooFine { .. } => FaultCode::TooManyDigits,
                };
                let message = format!("{title}: {} {fault}", shorten(text));
                let allowed = match scale {
                    0 => "a whole number in digits".to_owned(),
                    scale => format!("digits with at most {scale} decimals, such as 12.5"),
                };
                self.fault(code, shorten(text), allowed, message);
                None
            }
        }
    }
}

fn quantity_tree(value: Decimal, unit: &Unit) -> Value {
    let mut tree = Map::new();
    tree.insert("value".to_owned(), Value::String(plain(value)));
    tree.insert("unit".to_owned(), Value::String(unit.symbol()));
    Value::Object(tree)
}

fn describe_text(text: &str) -> String {
    format!("\"{}\"", shorten(text))
}

/// A unit's fault repeats what came, which may be long.
fn shorten_message(fault: &UnitFault) -> String {
    let text = fault.to_string();
    let mut short: String = text.chars().filter(|sign| !sign.is_control()).take(160).collect();
    if text.chars().nth(160).is_some() {
        short.push('…');
    }
    short
}
