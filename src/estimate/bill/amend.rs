//! What a person changes: lines put in by hand, and figures replaced. The computed figure stays beside the
//! given one.

use std::collections::HashSet;

use rust_decimal::Decimal;

use super::fault::{BillFault, ChangeFault};
use super::gather::{Cut, Gathered, at_border, line};
use super::key::{LineKey, PolicyLine};
use super::line::{
    BillCaution, BillLine, Content, Figure, FixedPrice, LineKind, PolicyChange, PolicyFigure, Replacement,
    Sum, Work,
};
use crate::catalogue::Catalogue;
use crate::catalogue::labour::LabourClass;
use crate::job::{BoughtKind, ManualLine, ManualWork, Override, Replaced};
use crate::quantity::unit::Unit;
use crate::quantity::{Quantity, nearest};
use crate::rules::outcome::Level;

const MANUAL: &str = "manual_lines";
const OVERRIDES: &str = "overrides";
/// Lines named where an override names one that is not there.
const LINES_NEAR: usize = 3;

/// Adds the lines put in by hand after all others.
pub(super) fn add_manual<'a>(
    gathered: &mut Gathered<'a>,
    catalogue: &'a Catalogue,
    manual: &'a [ManualLine],
) {
    for (index, entry) in manual.iter().enumerate() {
        let (kind, content) = match &entry.work {
            ManualWork::Bought {
                kind,
                quantity,
                unit_cost,
            } => {
                let kind = match kind {
                    BoughtKind::Material => LineKind::Material,
                    BoughtKind::Subcontract => LineKind::Subcontract,
                    BoughtKind::Fee => LineKind::Fee,
                };
                (
                    kind,
                    Content::Sum(Sum {
                        quantity: Some(*quantity),
                        unit_cost: *unit_cost,
                    }),
                )
            }
            ManualWork::Labour { hours, class } => {
                let found = catalogue.labour_place(class);
                let Some((place, class)) =
                    found.and_then(|place| Some((place, catalogue.labour().get(place)?)))
                else {
                    let fault = ChangeFault::NoClass { class: class.clone() };
                    gathered
                        .faults
                        .push(BillFault::change(MANUAL, index, "labour_class", fault));
                    continue;
                };
                if hours.value() < Decimal::ZERO {
                    let fault = BillFault::change(MANUAL, index, "hours", ChangeFault::Negative);
                    gathered.faults.push(fault);
                    continue;
                }
                (LineKind::Labour, Content::Work(work(place, class, hours.value())))
            }
        };
        gathered.lines.push(BillLine {
            code: entry.code.as_deref(),
            description: &entry.description,
            cost_code: &entry.cost_code,
            tax_category: &entry.tax_category,
            reason: Some(&entry.reason),
            ..line(LineKey::Manual { number: index + 1 }, kind, None, content)
        });
    }
}

/// Cautions for codes of lines put in by hand that are no item's and nearly one's. Any code may be given: what is bought need
/// not be in the catalogue. One that `covers` what the rules call usual is meant so.
pub(super) fn near_items(
    catalogue: &Catalogue,
    manual: &[ManualLine],
    covers: impl Fn(&str) -> bool,
) -> Vec<BillCaution> {
    let bought = manual.iter().zip(1..).filter_map(|(entry, number)| {
        let is_bought = matches!(entry.work, ManualWork::Bought { .. });
        Some((number, entry.code.as_deref().filter(|_| is_bought)?))
    });
    let strange = bought.filter(|(_, code)| catalogue.item(code).is_none() && !covers(code));
    let near = strange.filter_map(|(number, code): (usize, &str)| {
        let items = catalogue.items().iter().map(|item| item.code.as_str());
        let near = nearest::slip(code, items)?;
        Some(BillCaution {
            level: Level::Caution,
            code: "manual_code_near_item",
            message: format!(
                "Line {number} put in by hand: there is no item {code}; the catalogue has {near}. Another code is taken as it \
                 stands."
            ),
            source: "the items of the catalogue",
        })
    });
    near.collect()
}

fn work(place: usize, class: &LabourClass, hours: Decimal) -> Work<'_> {
    Work {
        place,
        class,
        clock_hours: hours,
        crew: Decimal::ONE,
        factors: Vec::new(),
        capped: false,
        hours,
        rate: Decimal::ZERO,
        source: None,
    }
}

/// Replaces what the overrides name, and returns those of lines that the policy makes. Packs are not
/// chosen yet, so a replaced quantity is packed like a computed one.
pub(super) fn replace<'a>(gathered: &mut Gathered<'a>, overrides: &'a [Override]) -> Vec<PolicyChange<'a>> {
    let mut policy = Vec::new();
    let mut seen = HashSet::with_capacity(overrides.len());
    for (index, change) in overrides.iter().enumerate() {
        let done = if !seen.insert((change.line.as_str(), field_of(&change.replaced))) {
            Err(ChangeFault::Twice {
                line: change.line.clone(),
            })
        } else if let Some(line) = PolicyLine::of_key(&change.line) {
            of_policy(index, line, change).map(|change| policy.push(change))
        } else if let Some(place) = gathered.place_of(&change.line) {
            gathered.replace_figure(place, index, change)
        } else {
            Err(gathered.no_such_line(&change.line))
        };
        if let Err(fault) = done {
            let field = match fault {
                ChangeFault::NoSuchLine { .. } | ChangeFault::Twice { .. } => "line",
                _ => field_of(&change.replaced),
            };
            gathered
                .faults
                .push(BillFault::change(OVERRIDES, index, field, fault));
        }
    }
    policy
}

fn field_of(replaced: &Replaced) -> &'static str {
    match replaced {
        Replaced::Quantity(_) => "quantity",
        Replaced::Hours(_) => "hours",
        Replaced::UnitCost(_) => "unit_cost",
        Replaced::Price(_) => "price",
    }
}

fn no_such_figure(change: &Override) -> ChangeFault {
    ChangeFault::NoSuchFigure {
        line: change.line.clone(),
        field: field_of(&change.replaced),
    }
}

fn of_policy<'a>(
    index: usize,
    line: PolicyLine,
    change: &'a Override,
) -> Result<PolicyChange<'a>, ChangeFault> {
    let figure = match change.replaced {
        Replaced::UnitCost(cost) if cost.is_sign_negative() => return Err(ChangeFault::Negative),
        Replaced::UnitCost(cost) => PolicyFigure::Cost(cost),
        Replaced::Price(price) => PolicyFigure::Price(price),
        Replaced::Quantity(_) | Replaced::Hours(_) => return Err(no_such_figure(change)),
    };
    Ok(PolicyChange {
        index,
        line,
        figure,
        reason: &change.reason,
    })
}

impl<'a> Gathered<'a> {
    fn no_such_line(&self, key: &str) -> ChangeFault {
        let keys: Vec<String> = self.lines.iter().map(|line| line.key.to_string()).collect();
        let near = nearest::few(key, keys.iter().map(String::as_str), LINES_NEAR);
        ChangeFault::NoSuchLine {
            line: key.to_owned(),
            near: near.into_iter().map(str::to_owned).collect(),
        }
    }

    fn place_of(&self, key: &str) -> Option<usize> {
        self.lines.iter().rposition(|line| line.key.is_written(key))
    }

    fn replace_figure(
        &mut self,
        place: usize,
        index: usize,
        change: &'a Override,
    ) -> Result<(), ChangeFault> {
        let cut = self.cuts.iter_mut().find(|cut| cut.line == place);
        let line = self.lines.get_mut(place).ok_or_else(|| no_such_figure(change))?;
        let figures = match (change.replaced, &mut line.content) {
            (Replaced::Price(price), _) => {
                line.fixed = Some(Box::new(FixedPrice {
                    index,
                    price,
                    reason: &change.reason,
                }));
                return Ok(());
            }
            (Replaced::Quantity(quantity), content) => quantity_of(content, cut, quantity, change)?,
            (Replaced::Hours(hours), Content::Work(work)) => {
                let computed = std::mem::replace(&mut work.hours, not_negative(hours.value())?);
                // What the factors added is no part of a figure given by hand.
                work.factors.clear();
                work.capped = false;
                let by_the_clock = work.hours.checked_div(work.crew);
                work.clock_hours = by_the_clock.map_or(work.hours, at_border);
                (in_hours(computed), in_hours(work.hours))
            }
            (Replaced::UnitCost(cost), content) => unit_cost_of(content, cut, not_negative(cost)?),
            (Replaced::Hours(_), _) => return Err(no_such_figure(change)),
        };
        line.replaced.push(Replacement {
            index,
            field: field_of(&change.replaced),
            computed: figures.0,
            given: figures.1,
            reason: &change.reason,
        });
        Ok(())
    }
}

fn in_hours(value: Decimal) -> Figure {
    Figure::Quantity(Quantity { value, unit: Unit::H })
}

fn not_negative(value: Decimal) -> Result<Decimal, ChangeFault> {
    if value < Decimal::ZERO {
        Err(ChangeFault::Negative)
    } else {
        Ok(value)
    }
}

/// The given quantity takes the place of the needed quantity and its waste; where the trade wants no joint it
/// is one piece.
fn quantity_of(
    content: &mut Content<'_>,
    cut: Option<&mut Cut>,
    given: Quantity,
    change: &Override,
) -> Result<(Figure, Figure), ChangeFault> {
    let computed = match content {
        Content::Goods(goods) => {
            let value = goods
                .quantity
                .checked_add(goods.waste)
                .ok_or(ChangeFault::TooLarge)?;
            Quantity {
                value,
                unit: goods.item.unit,
            }
        }
        Content::Sum(Sum {
            quantity: Some(quantity),
            ..
        }) => *quantity,
        Content::Sum(_) | Content::Work(_) => return Err(no_such_figure(change)),
    };
    let unit = computed.unit;
    let converted = if given.unit == unit {
        given.value
    } else {
        given.unit.convert(given.value, &unit)?
    };
    let value = not_negative(at_border(converted))?;
    let given = Quantity { value, unit };
    match content {
        Content::Goods(goods) => {
            goods.quantity = value;
            goods.waste = Decimal::ZERO;
            if let Some(cut) = cut {
                (cut.divisible, cut.pieces) = cut_anew(cut, value)?;
            }
        }
        Content::Sum(sum) => sum.quantity = Some(given),
        Content::Work(_) => {}
    }
    Ok((Figure::Quantity(computed), Figure::Quantity(given)))
}

/// How a quantity given by hand is cut: where the item, or all that the rules ask of it, bears no joint, it bears none
/// either, and comes in as many pieces as the rules ask for.
fn cut_anew(cut: &Cut, value: Decimal) -> Result<(Decimal, Vec<Decimal>), ChangeFault> {
    let pieces = match (cut.one_piece, cut.divisible.is_zero()) {
        (true, _) => 1,
        (false, true) => cut.pieces.len(),
        (false, false) => 0,
    };
    if pieces == 0 {
        return Ok((value, Vec::new()));
    }
    let piece = value
        .checked_div(Decimal::from(pieces))
        .ok_or(ChangeFault::TooLarge)?;
    Ok((Decimal::ZERO, vec![at_border(piece); pieces]))
}

/// The cost of a unit as bought, of an hour, or of an amount as a whole. For goods the computed one is filled
/// in when the packs are chosen by the list's prices.
fn unit_cost_of(content: &mut Content<'_>, cut: Option<&mut Cut>, given: Decimal) -> (Figure, Figure) {
    let computed = match content {
        Content::Goods(_) => {
            if let Some(cut) = cut {
                cut.unit_cost = Some(given);
            }
            None
        }
        Content::Work(work) => {
            let listed = work.source.take().map(|_| work.rate);
            work.rate = given;
            listed
        }
        Content::Sum(sum) => Some(std::mem::replace(&mut sum.unit_cost, given)),
    };
    (Figure::UnitCost(computed), Figure::UnitCost(Some(given)))
}
