//! The lines of a bill, section by section.

use estimate::bill::line::{BoughtPack, Content, Figure, Goods, LineKind};
use estimate::pricing::{Line, Priced};
use estimate::quantity::decimal;
use estimate::quantity::unit::Unit;

use super::explanation::Explainer;
use super::figure::{digits, in_unit, money, quantity};
use super::table::{Column, Table, WIDTH, wrapped};

/// What a table shows of each line. Waste and what is left over are in the unit of what is needed.
const COLUMNS: [Column; 8] = [
    Column::Left("Code"),
    Column::Text("Description"),
    Column::Right("Needed"),
    Column::Right("Waste"),
    Column::Text("Bought"),
    Column::Right("Left"),
    Column::Right("Cost"),
    Column::Right("Price"),
];
/// What the columns mean, where their titles are too short to say it.
const LEGEND: &str = "Needed is without waste. Waste is what is added for it; Left is what is bought beyond both, \
    in the unit of what is needed.";
const BY_HAND: &str = "Put in by hand";
const ALLOWANCES: &str = "Allowances for what is not known";
const POLICY: &str = "Freight, consumables and tax on purchases";

/// The lines under the headings of their sections.
pub fn bill<'a>(priced: &Priced<'a>, mut explainer: Option<&mut Explainer<'a>>) -> String {
    let mut table = Table::new(&COLUMNS);
    let classes = class_titles(priced);
    let mut current = None;
    for line in priced.lines.iter() {
        let section = section(&line);
        if current != Some(section) {
            table.heading(section);
            current = Some(section);
        }
        row(&mut table, &line, &classes);
        for replaced in &line.bill.replaced {
            let (computed, given) = (figure(replaced.computed), figure(replaced.given));
            table.note(format!(
                "{} by hand: {given} instead of {computed} ({})",
                replaced.field.replace('_', " "),
                replaced.reason
            ));
        }
        if let Some(reason) = line.bill.reason {
            table.note(format!("by hand: {reason}"));
        }
        if let Some(explainer) = &mut explainer {
            explainer.line(&mut table, &line);
        }
    }
    table.text() + "\n" + &wrapped(LEGEND, "", WIDTH)
}

fn section<'a>(line: &Line<'_, 'a>) -> &'a str {
    use estimate::bill::LineKey;
    match (line.bill.from, line.bill.key) {
        (Some(from), _) => &from.assembly.section,
        (None, LineKey::Allowance { .. }) => ALLOWANCES,
        (None, LineKey::Policy(_)) => POLICY,
        (None, _) => BY_HAND,
    }
}

/// The titles of the labour classes on a bill, each once.
fn class_titles<'a>(priced: &Priced<'a>) -> Vec<&'a str> {
    let mut titles = Vec::new();
    for line in priced.lines.iter() {
        if let Content::Work(work) = &line.bill.content
            && !titles.contains(&work.class.title.as_str())
        {
            titles.push(work.class.title.as_str());
        }
    }
    titles
}

/// A class in few words: what stands before the first comma or colon of its title, where no other class of the bill
/// begins so.
fn short<'t>(title: &'t str, titles: &[&str]) -> &'t str {
    let beginning = |title: &str| title.find([',', ':', '(']).unwrap_or(title.len());
    let short = title.get(..beginning(title)).unwrap_or(title).trim_end();
    let begins_so = |other: &&&str| other.get(..beginning(other)).map(str::trim_end) == Some(short);
    match titles.iter().filter(begins_so).count() {
        0 | 1 if !short.is_empty() => short,
        _ => title,
    }
}

fn row(table: &mut Table, line: &Line<'_, '_>, classes: &[&str]) {
    let bill = line.bill;
    let (mut waste, mut left_over) = (String::new(), String::new());
    let (needed, bought) = match &bill.content {
        Content::Goods(goods) => {
            if !goods.waste.is_zero() {
                waste = digits(goods.waste);
            }
            if !goods.left_over.is_zero() {
                left_over = digits(goods.left_over);
            }
            (in_unit(goods.quantity, goods.item.unit), packs(goods))
        }
        Content::Work(work) => (
            in_unit(work.hours, Unit::H),
            short(&work.class.title, classes).to_owned(),
        ),
        Content::Sum(sum) => (
            sum.quantity.as_ref().map(quantity).unwrap_or_default(),
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
        waste,
        bought,
        left_over,
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

/// Packs as the trade says them: `1 × coil of 50 ft, 1 × coil of 15 ft`.
fn packs(goods: &Goods<'_>) -> String {
    let one = |pack: &BoughtPack<'_>| match in_unit(pack.size, goods.item.unit) {
        size if size == "1" => format!("{} × {}", pack.count, pack.name),
        size => format!("{} × {} of {size}", pack.count, pack.name),
    };
    goods.packs.iter().map(one).collect::<Vec<_>>().join(", ")
}

fn figure(figure: Figure) -> String {
    match figure {
        Figure::Quantity(given) => quantity(&given),
        Figure::UnitCost(Some(cost)) => decimal::plain(cost),
        Figure::UnitCost(None) => "no price".to_owned(),
        Figure::Amount(amount) => money(amount),
    }
}
