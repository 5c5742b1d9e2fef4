//! The lines of a bill, section by section.

use estimate::bill::line::{BoughtPack, Content, Figure, Goods, LineKind, Work};
use estimate::pricing::Line;
use estimate::quantity::rounding::{Mode, to_scale};
use estimate::quantity::unit::Unit;
use estimate::quantity::{Decimal, Money, decimal};
use estimate::rules::trace::{FormulaTrace, What};

use super::table::{Column, Table, grouped};

/// What a table shows of each line.
const COLUMNS: [Column; 6] = [
    Column::Left("Code"),
    Column::Text("Description"),
    Column::Right("Needed"),
    Column::Text("Bought"),
    Column::Right("Cost"),
    Column::Right("Price"),
];
/// Decimals of a quantity on paper; the JSON has them all.
const SHOWN_SCALE: u32 = 2;
const BY_HAND: &str = "Put in by hand";
const ALLOWANCES: &str = "Allowances for what is not known";
const POLICY: &str = "Freight, consumables and tax on purchases";

/// The lines under the headings of their sections.
pub fn bill(lines: &[Line<'_>], explain: bool) -> String {
    let mut table = Table::new(&COLUMNS);
    let mut current = None;
    for line in lines {
        let section = section(line);
        if current != Some(section) {
            table.heading(section);
            current = Some(section);
        }
        row(&mut table, line);
        for replaced in &line.bill.replaced {
            let (computed, given) = (figure(replaced.computed), figure(replaced.given));
            table.note(format!(
                "{} by hand: {given} instead of {computed} ({})",
                replaced.field, replaced.reason
            ));
        }
        if let Some(reason) = line.bill.reason {
            table.note(format!("by hand: {reason}"));
        }
        if explain {
            explanation(&mut table, line);
        }
    }
    table.text()
}

fn section<'a>(line: &Line<'a>) -> &'a str {
    use estimate::bill::LineKey;
    match (line.bill.from, line.bill.key) {
        (Some(from), _) => from.assembly.section,
        (None, LineKey::Allowance { .. }) => ALLOWANCES,
        (None, LineKey::Policy(_)) => POLICY,
        (None, _) => BY_HAND,
    }
}

fn row(table: &mut Table, line: &Line<'_>) {
    let bill = &line.bill;
    let (needed, bought) = match &bill.content {
        Content::Goods(goods) => (
            in_unit(goods.quantity.checked_add(goods.waste), goods.unit),
            packs(goods),
        ),
        Content::Work(work) => (in_unit(Some(work.hours), Unit::H), work.class.to_owned()),
        Content::Sum(sum) => (
            sum.quantity
                .map(|quantity| quantity.to_string())
                .unwrap_or_default(),
            kind(bill.kind),
        ),
    };
    // A task's code is part of the line's key, which an explanation prints; here it would only take room.
    let code = bill
        .code
        .filter(|_| bill.kind != LineKind::Labour)
        .unwrap_or_default()
        .to_owned();
    table.row([
        code,
        bill.description.to_owned(),
        needed,
        bought,
        money(line.cost),
        money(line.price),
    ]);
}

fn kind(kind: LineKind) -> String {
    match kind {
        LineKind::Subcontract => "subcontract",
        LineKind::Fee => "fee",
        LineKind::Material => "material",
        LineKind::Labour => "labour",
    }
    .to_owned()
}

fn in_unit(value: Option<Decimal>, unit: Unit) -> String {
    let Some(value) = value else { return String::new() };
    let digits = grouped(&decimal::plain(to_scale(value, SHOWN_SCALE, Mode::HalfUp)));
    if unit == Unit::EACH {
        digits
    } else {
        format!("{digits} {unit}")
    }
}

/// Packs as the trade says them: `1 × coil of 50 ft, 1 × coil of 15 ft`.
fn packs(goods: &Goods<'_>) -> String {
    let one = |pack: &BoughtPack<'_>| match in_unit(Some(pack.size), goods.unit) {
        size if size == "1" => format!("{} × {}", pack.count, pack.name),
        size => format!("{} × {} of {size}", pack.count, pack.name),
    };
    goods.packs.iter().map(one).collect::<Vec<_>>().join(", ")
}

/// An amount without its currency, which stands over the table.
pub fn money(amount: Money) -> String {
    grouped(&amount.text())
}

fn figure(figure: Figure) -> String {
    match figure {
        Figure::Quantity(quantity) => quantity.to_string(),
        Figure::UnitCost(Some(cost)) => decimal::plain(cost),
        Figure::UnitCost(None) => "no price".to_owned(),
        Figure::Amount(amount) => money(amount),
    }
}

/// How a line came about: its key, its shares and factors, its formulas, the source of its price.
fn explanation(table: &mut Table, line: &Line<'_>) {
    table.note(format!("line {}", line.bill.key));
    match &line.bill.content {
        Content::Goods(goods) => explain_goods(table, goods),
        Content::Work(work) => explain_work(table, work),
        Content::Sum(_) => {}
    }
    for formula in line.bill.explanation.iter().flatten() {
        explain_formula(table, formula);
    }
}

fn explain_goods(table: &mut Table, goods: &Goods<'_>) {
    for share in &goods.shares {
        let waste = match share.waste {
            waste if waste.is_zero() => String::new(),
            waste => format!(" and {} for waste", in_unit(Some(waste), goods.unit)),
        };
        let piece = if share.one_piece { ", in one piece" } else { "" };
        let needed = in_unit(Some(share.quantity), goods.unit);
        table.note(format!(
            "{} line {}: {needed}{waste}{piece}",
            share.line.assembly.code, share.line.number
        ));
    }
    if !goods.left_over.is_zero() {
        table.note(format!(
            "left over: {}",
            in_unit(Some(goods.left_over), goods.unit)
        ));
    }
    if let Some(source) = goods.source {
        table.note(format!("price of {}, {}", source.valid_from, source.source));
    }
}

fn explain_work(table: &mut Table, work: &Work<'_>) {
    let clock = in_unit(Some(work.clock_hours), Unit::H);
    table.note(format!(
        "{clock} by the clock, {} working, at {} an hour",
        decimal::plain(work.crew),
        work.rate
    ));
    for factor in &work.factors {
        let (added, share) = (in_unit(Some(factor.hours), Unit::H), decimal::plain(factor.add));
        table.note(format!("{} adds {added} ({share} of the hours)", factor.title));
    }
    if work.capped {
        table.note("the factors together are held at the rulebook's limit".to_owned());
    }
    if let Some(source) = work.source {
        table.note(format!("rate of {}, {}", source.valid_from, source.source));
    }
}

fn explain_formula(table: &mut Table, formula: &FormulaTrace<'_>) {
    table.note(format!(
        "{}: {} = {}",
        formula.place, formula.formula, formula.result
    ));
    let steps = formula.steps.iter().filter(|step| step.text != formula.formula);
    let steps: Vec<String> = steps
        .map(|step| match step.what {
            What::Cell { table, row } => format!("{} = {} (table {table}, row {row})", step.text, step.value),
            _ => format!("{} = {}", step.text, step.value),
        })
        .collect();
    if !steps.is_empty() {
        table.note(format!("  with {}", steps.join("; ")));
    }
}
