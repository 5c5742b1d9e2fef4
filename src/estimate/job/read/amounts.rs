//! Answers of two members: quantities and amounts of money.

use serde_json::{Map, Value};

use super::Reader;
use super::leaf::{allowed, describe_text};
use crate::job::fault::{FaultCode, describe, shorten};
use crate::job::form::Shape;
use crate::quantity::Decimal;
use crate::quantity::decimal::{QUANTITY_SCALE, UNIT_PRICE_SCALE, plain};
use crate::quantity::money::{Currency, MoneyFault};
use crate::quantity::rounding::{Mode, to_scale};
use crate::quantity::unit::{Unit, UnitFault};

/// Decimals kept of a quantity that came in another unit than the form's.
const CONVERTED_SCALE: u32 = 4;
/// Decimals shown of a bound in another unit than the form's.
const SHOWN_SCALE: u32 = 4;
/// Between these an upper bound is told in another unit than the form's: `0.1894 mi` says nothing to anybody.
const LEAST_TOLD: Decimal = Decimal::ONE;
const MOST_TOLD: Decimal = Decimal::from_parts(100_000, 0, 0, false, 0);
/// In which units goods and work are counted.
const ASKED: &str = "goods and work are counted in each, or in a unit of length, area, volume, mass or time";

impl Reader<'_> {
    pub(super) fn measure(
        &mut self,
        own: Unit,
        min: Decimal,
        max: Decimal,
        title: &str,
        members: &Map<String, Value>,
    ) -> Option<Value> {
        let asked = format!("a unit of {}, such as {own}", own.dimension());
        let (came, unit) = self.quantity(&asked, title, members)?;
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
                    let message = format!("{title}: {fault}");
                    this.fault(FaultCode::WrongDimension, unit.symbol(), asked, message);
                });
                return None;
            }
        };
        let kept = to_scale(value, CONVERTED_SCALE, Mode::HalfUp);
        if value < min || value > max || kept < min || kept > max {
            self.outside(came, (min, max), &unit, &own, title);
            return None;
        }
        if own == Unit::H
            && kept != value
            && let Some(place) = self.in_job().map(str::to_owned)
        {
            // Forty minutes are no round number of hours: the job is told with what came.
            self.as_came.push((place, quantity_tree(came, &unit)));
        }
        Some(quantity_tree(kept, &own))
    }

    /// The bounds in the unit that came, where that says something, and in the form's own.
    fn outside(&mut self, came: Decimal, bounds: (Decimal, Decimal), unit: &Unit, own: &Unit, title: &str) {
        let show = |bound: Decimal| {
            let converted = own.convert(bound, unit).unwrap_or(bound);
            plain(to_scale(converted, SHOWN_SCALE, Mode::HalfUp))
        };
        let own_bounds = format!("{} {own} to {} {own}", plain(bounds.0), plain(bounds.1));
        let most = own.convert(bounds.1, unit).unwrap_or(Decimal::ZERO);
        let allowed = if LEAST_TOLD <= most && most < MOST_TOLD {
            format!(
                "{} {unit} to {} {unit} ({own_bounds})",
                show(bounds.0),
                show(bounds.1)
            )
        } else {
            own_bounds
        };
        let message = format!("{title}: {} {unit}; allowed is {allowed}", plain(came));
        self.fault(
            FaultCode::OutOfBounds,
            format!("{} {unit}", plain(came)),
            allowed,
            message,
        );
    }

    /// The value and the unit of a quantity object.
    fn quantity(
        &mut self,
        asked: &str,
        title: &str,
        members: &Map<String, Value>,
    ) -> Option<(Decimal, Unit)> {
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
                this.wrong_type("the unit", unit, asked);
                return None;
            };
            Unit::parse(text)
                .map_err(|fault| {
                    let message = format!("{title}: {}", shorten_message(&fault));
                    this.fault(
                        FaultCode::UnknownUnit,
                        describe_text(text),
                        asked.to_owned(),
                        message,
                    );
                })
                .ok()
        });
        Some((number?, unit?))
    }

    pub(super) fn money(&mut self, credit: bool, title: &str, members: &Map<String, Value>) -> Option<Value> {
        let money_allowed = || allowed(&Shape::Money { credit });
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
            Ok(money) if money.exceeds(money.currency().given_most()) => {
                let most = money.currency().given_most();
                let least = if credit {
                    format!("-{most}")
                } else {
                    "0".to_owned()
                };
                let allowed = format!("{least} to {most}");
                let message = format!("{title}: {money}; allowed is {allowed}");
                self.fault(FaultCode::OutOfBounds, money.to_string(), allowed, message);
                None
            }
            Ok(money) if credit || money.minor() >= 0 => Some(amount_tree(money.text(), code)),
            Ok(money) => {
                let message = format!("{title} is {money}; it must not be below zero");
                self.fault(
                    FaultCode::OutOfBounds,
                    money.to_string(),
                    money_allowed(),
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
                    this.fault(FaultCode::BadMoney, came, money_allowed(), message);
                });
                None
            }
        }
    }

    /// An amount with the decimals of a cost of one unit; its currency is kept, and judged against the company's.
    pub(super) fn unit_cost(
        &mut self,
        bounds: (Decimal, Decimal),
        title: &str,
        members: &Map<String, Value>,
    ) -> Option<Value> {
        let (amount, currency) = self.pair(title, members, ["amount", "currency"])?;
        let number = self.at("amount", |this| match amount {
            Value::String(_) | Value::Number(_) => this.number(amount, UNIT_PRICE_SCALE, title),
            other => {
                this.wrong_type(title, other, "an amount such as \"12.50\"");
                None
            }
        });
        let code = self.at("currency", |this| {
            let Value::String(code) = currency else {
                this.wrong_type("the currency", currency, "an ISO 4217 code such as \"USD\"");
                return None;
            };
            let known = Currency::parse(code).map_err(|fault| {
                let allowed = "an ISO 4217 code such as \"USD\"".to_owned();
                let message = format!("{title}: {fault}");
                this.fault(FaultCode::BadMoney, shorten(code), allowed, message);
            });
            known.ok().map(|_| code)
        });
        let (number, code) = (number?, code?);
        self.within(number, bounds, &format!(" {code}"), title)?;
        Some(amount_tree(plain(number), code))
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
                    let article = if name.starts_with('a') { "an" } else { "a" };
                    this.fault(
                        FaultCode::Missing,
                        "nothing",
                        format!("{article} {name}"),
                        message,
                    );
                });
            }
            found
        });
        Some((first?, second?))
    }

    /// A quantity in whatever unit, as long as goods or work are counted in it.
    pub(super) fn any_quantity(
        &mut self,
        bounds: (Decimal, Decimal),
        title: &str,
        members: &Map<String, Value>,
    ) -> Option<Value> {
        let (value, unit) = self.quantity(ASKED, title, members)?;
        if !unit.dimension().counts_goods() {
            self.at("unit", |this| {
                let message = format!("{title}: {unit} measures {}; {ASKED}", unit.dimension());
                this.fault(FaultCode::NoUnitOfMeasure, unit.symbol(), ASKED, message);
            });
            return None;
        }
        self.within(value, bounds, "", title)?;
        Some(quantity_tree(value, &unit))
    }
}

fn amount_tree(digits: String, currency: &str) -> Value {
    let mut tree = Map::with_capacity(2);
    tree.insert("amount".to_owned(), Value::String(digits));
    tree.insert("currency".to_owned(), Value::String(currency.to_owned()));
    Value::Object(tree)
}

pub(super) fn quantity_tree(value: Decimal, unit: &Unit) -> Value {
    let mut tree = Map::with_capacity(2);
    tree.insert("value".to_owned(), Value::String(plain(value)));
    tree.insert("unit".to_owned(), Value::String(unit.symbol()));
    Value::Object(tree)
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
