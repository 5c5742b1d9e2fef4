//! How a line came about: its key, its shares and factors, its formulas, the source of its price.

use estimate::bill::line::{Content, Goods, Work};
use estimate::handoff::figure::grouped;
use estimate::pricing::{LabourTotal, Line};
use estimate::quantity::unit::Unit;
use estimate::quantity::{Currency, Decimal, decimal};
use estimate::rules::trace::{FormulaTrace, Place, Shown, What};

use super::figure::{amount, in_unit, money, percent, with_unit};
use super::table::Table;

/// Puts under a line how it came about. `labour` are the totals by class, of which a line of work is a part.
pub fn explanation(table: &mut Table, line: &Line<'_>, labour: &[LabourTotal<'_>]) {
    table.note(format!("line {}", line.bill.key));
    match &line.bill.content {
        Content::Goods(goods) => explain_goods(table, goods),
        Content::Work(work) => explain_work(table, work, line, labour),
        Content::Sum(_) => {}
    }
    for formula in line.bill.explanation.iter().flatten() {
        explain_formula(table, formula, line.cost.currency());
    }
}

fn explain_goods(table: &mut Table, goods: &Goods<'_>) {
    for share in &goods.shares {
        let waste = match share.waste {
            waste if waste.is_zero() => String::new(),
            waste => format!(" and {} for waste", in_unit(waste, goods.unit)),
        };
        let piece = if share.one_piece { ", in one piece" } else { "" };
        let needed = in_unit(share.quantity, goods.unit);
        table.note(format!(
            "{} line {}: {needed}{waste}{piece}",
            share.line.assembly.code, share.line.number
        ));
    }
    if !goods.left_over.is_zero() {
        table.note(format!("left over: {}", in_unit(goods.left_over, goods.unit)));
    }
    if let Some(source) = goods.source {
        table.note(format!("price of {}, {}", source.valid_from, source.source));
    }
}

fn explain_work(table: &mut Table, work: &Work<'_>, line: &Line<'_>, labour: &[LabourTotal<'_>]) {
    let clock = in_unit(work.clock_hours, Unit::H);
    table.note(format!(
        "{clock} by the clock, {} working, at {} an hour",
        decimal::plain(work.crew),
        work.rate
    ));
    for factor in &work.factors {
        let (added, share) = (in_unit(factor.hours, Unit::H), percent(factor.add));
        table.note(format!("{} adds {added} ({share} of the hours)", factor.title));
    }
    if work.capped {
        table.note("the factors together are held at the rulebook's limit".to_owned());
    }
    let of_class = labour
        .iter()
        .find(|total| total.class == work.class && total.rate == work.rate)
        .filter(|total| total.hours != total.line_hours);
    if let Some(total) = of_class {
        table.note(format!(
            "cost {}: the line's part of {} of the class, which are rounded to {} and cost {}",
            money(line.cost),
            with_unit(grouped(&decimal::plain(total.line_hours)), Unit::H),
            with_unit(grouped(&decimal::plain(total.hours)), Unit::H),
            money(total.cost)
        ));
    }
    if let Some(source) = work.source {
        table.note(format!("rate of {}, {}", source.valid_from, source.source));
    }
}

fn explain_formula(table: &mut Table, formula: &FormulaTrace<'_>, currency: Currency) {
    let result = match (formula.place, formula.result) {
        (
            Place::Line { field: "waste", .. } | Place::Factor { field: "add", .. },
            Shown::Number(fraction, unit),
        ) if unit == Unit::ONE => percent(fraction),
        (_, result) => shown(result, currency),
    };
    let whole = formula.steps.iter().find_map(|step| match step.what {
        What::Cell { table, row } if step.text == formula.formula => Some(cell(table, row)),
        _ => None,
    });
    table.note(format!(
        "{}: {} = {result}{}",
        formula.place,
        formula.formula,
        whole.unwrap_or_default()
    ));
    let steps = formula.steps.iter().filter(|step| step.text != formula.formula);
    let steps: Vec<String> = steps
        .map(|step| {
            let row = match step.what {
                What::Cell { table, row } => cell(table, row),
                _ => String::new(),
            };
            format!("{} = {}{row}", step.text, shown(step.value, currency))
        })
        .collect();
    if !steps.is_empty() {
        table.note(format!("  with {}", steps.join("; ")));
    }
}

fn cell(table: &str, row: usize) -> String {
    format!(" (table {table}, row {row})")
}

/// A value of a formula; amounts in the currency.
fn shown(value: Shown<'_>, currency: Currency) -> String {
    match value {
        Shown::Number(value, unit) if unit.dimension().is_money() => amount(rounded(value), unit, currency),
        Shown::Number(value, unit) if unit.to_string().contains("money") => {
            amount(rounded(value), unit, currency)
        }
        Shown::Number(value, unit) => with_unit(grouped(&decimal::plain(rounded(value))), unit),
        other => other.to_string(),
    }
}

/// Six decimals, as the JSON has them.
fn rounded(value: Decimal) -> Decimal {
    use estimate::quantity::decimal::QUANTITY_SCALE;
    use estimate::quantity::rounding::{Mode, to_scale};
    to_scale(value, QUANTITY_SCALE, Mode::HalfUp)
}
