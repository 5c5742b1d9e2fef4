//! How a line's cost came about: packs, hours and amounts to whole minor units.

use super::result::{LabourTotal, Line};
use super::workings::of;
use crate::bill::line::{Content, Goods, Sum, Work};
use crate::quantity::Decimal;
use crate::quantity::unit::Unit;
use crate::rules::trace::{FormulaTrace, Place};

const COST: Place<'static> = Place::Amount { figure: "cost" };

/// The formulas that lead to the cost of a line. `labour` are the totals by class, of which a line of work is a part.
pub(super) fn formulas<'a>(line: &Line<'_, 'a>, labour: &[LabourTotal<'a>]) -> Vec<FormulaTrace<'a>> {
    match &line.bill.content {
        Content::Goods(goods) => of_packs(line, goods),
        Content::Work(work) => of_hours(line, work, labour),
        Content::Sum(sum) => vec![of_sum(line, sum)],
    }
}

fn of_packs<'a>(line: &Line<'_, 'a>, goods: &Goods<'a>) -> Vec<FormulaTrace<'a>> {
    let packs = goods.packs.iter().filter_map(|pack| {
        let count = Decimal::from(pack.count);
        let traced = of("packs * cost of a pack").with("packs", count, Unit::ONE).with(
            "cost of a pack",
            pack.cost,
            Unit::MONEY,
        );
        Some(traced.give(Place::Packs { pack: pack.name }, count.checked_mul(pack.cost)?))
    });
    let mut formulas: Vec<FormulaTrace<'a>> = packs.collect();
    let whole = of("cost of the packs, rounded").with("cost of the packs", goods.cost, Unit::MONEY);
    formulas.push(whole.give(COST, line.cost.decimal()));
    formulas
}

fn of_hours<'a>(line: &Line<'_, 'a>, work: &Work<'a>, labour: &[LabourTotal<'a>]) -> Vec<FormulaTrace<'a>> {
    let mut classes = labour.iter();
    let Some(class) = classes.find(|total| total.class == work.class.code && total.rate == work.rate) else {
        return Vec::new();
    };
    let of_class = of("hours of the class, as they are rounded * cost of an hour")
        .with("hours of the class, as they are rounded", class.hours, Unit::H)
        .with("cost of an hour", class.rate, Unit::MONEY);
    let share =
        of("cost of the class * hours of the line / hours of all its lines, shared out by largest remainder")
            .money("cost of the class", class.cost)
            .with("hours of the line", work.hours, Unit::H)
            .with("hours of all its lines", class.line_hours, Unit::H);
    vec![
        of_class.give(Place::Class { class: class.class }, class.cost.decimal()),
        share.give(COST, line.cost.decimal()),
    ]
}

fn of_sum<'a>(line: &Line<'_, 'a>, sum: &Sum) -> FormulaTrace<'a> {
    let formula = match sum.quantity {
        Some(quantity) => of("quantity * cost of one, rounded")
            .with("quantity", quantity.value, quantity.unit)
            .with("cost of one", sum.unit_cost, Unit::MONEY),
        None => of("amount, rounded").with("amount", sum.unit_cost, Unit::MONEY),
    };
    formula.give(COST, line.cost.decimal())
}
