//! How a line came about: its key, its shares and factors, its formulas, the source of its price; and what the facts
//! are that went in.

use std::collections::HashSet;

use estimate::bill::line::{Content, Goods, Work};
use estimate::handoff::figure::grouped;
use estimate::pricing::Line;
use estimate::quantity::fact::FactDef;
use estimate::quantity::unit::Unit;
use estimate::quantity::{Currency, Decimal, decimal};
use estimate::rules::trace::{FormulaTrace, Place, Shown, Step, What};

use super::figure::{amount, in_unit, percent, with_unit};
use super::table::{Column, Table, WIDTH, wrapped};

const LEGEND: &str = "A derived value, a labour factor and the cost of a class are explained at the first line that needs \
    them; later lines only name them.";

/// What was told of an estimate so far.
#[derive(Debug)]
pub struct Explainer<'a> {
    currency: Currency,
    definitions: &'a [FactDef],
    /// Formulas that several lines share.
    told: HashSet<String>,
    /// The facts that went in, with their values, in the order in which they were needed.
    facts: Vec<(&'a str, Shown<'a>)>,
}

impl<'a> Explainer<'a> {
    /// Nothing is told yet.
    pub fn new(currency: Currency, definitions: &'a [FactDef]) -> Self {
        Self {
            currency,
            definitions,
            told: HashSet::new(),
            facts: Vec::new(),
        }
    }

    /// Puts under a line how it came about.
    pub fn line(&mut self, table: &mut Table, line: &Line<'_, 'a>) {
        table.note(format!("line {}", line.bill.key));
        match &line.bill.content {
            Content::Goods(goods) => explain_goods(table, goods),
            Content::Work(work) => explain_work(table, work),
            Content::Sum(_) => {}
        }
        if let Some(source) = line.price_source() {
            let what = match &line.bill.content {
                Content::Work(_) => "rate",
                Content::Goods(_) | Content::Sum(_) => "price",
            };
            table.note(match source.holds_always() {
                true => format!("{what} by {}", source.source),
                false => format!("{what} of {}, {}", source.valid_from, source.source),
            });
        }
        let explanation = line.bill.explanation.iter();
        for formula in explanation.flat_map(|explained| &explained.formulas) {
            self.formula(table, formula);
        }
    }

    /// How the price of the job came about.
    pub fn job(&mut self, formulas: &[FormulaTrace<'a>]) -> String {
        let mut table = Table::new(&[]);
        for formula in formulas {
            self.formula(&mut table, formula);
        }
        table.text()
    }

    /// The facts that went into the formulas, with what they mean.
    pub fn facts(&self) -> String {
        let mut table = Table::new(&[
            Column::Left("Fact"),
            Column::Text("Value"),
            Column::Text("What it is"),
        ]);
        for (name, value) in &self.facts {
            let mut known = self.definitions.iter();
            let meaning = known
                .find(|fact| &*fact.name == *name)
                .map(|fact| fact.meaning.to_string());
            table.row([
                (*name).to_owned(),
                shown(*value, self.currency),
                meaning.unwrap_or_default(),
            ]);
        }
        table.text() + "\n" + &wrapped(LEGEND, "", WIDTH)
    }

    fn formula(&mut self, table: &mut Table, formula: &FormulaTrace<'a>) {
        let head = self.head(formula);
        let shared = matches!(
            formula.place,
            Place::Derived { .. } | Place::Factor { .. } | Place::Class { .. }
        );
        if shared && !self.told.insert(head.clone()) {
            return;
        }
        table.note(head);
        let steps: Vec<String> = formula
            .steps
            .iter()
            .filter(|step| step.text != formula.formula && !is_begun(step, &formula.steps))
            .map(|step| self.step(step))
            .collect();
        if !steps.is_empty() {
            table.note(format!("  with {}", steps.join("; ")));
        }
        let read = formula.steps.iter().filter(|step| step.what == What::Fact);
        for step in read {
            if !self.facts.iter().any(|(name, _)| *name == step.text) {
                self.facts.push((step.text, step.value));
            }
        }
    }

    /// The formula and what it comes to.
    fn head(&self, formula: &FormulaTrace<'_>) -> String {
        let result = match (formula.place, formula.result) {
            (
                Place::Line { field: "waste", .. } | Place::Factor { field: "add", .. },
                Shown::Number(fraction, unit),
            ) if unit == Unit::ONE => percent(fraction),
            (_, result) => shown(result, self.currency),
        };
        let whole = formula.steps.iter().find_map(|step| match step.what {
            What::Cell { table, row } if step.text == formula.formula => Some(cell(table, row)),
            _ => None,
        });
        let (place, text) = (formula.place, formula.formula);
        if text == result {
            // A figure that is written in the rulebook is its own result.
            return format!("{place}: {text}");
        }
        let is = becomes(formula.result);
        format!("{place}: {text}{is}{result}{}", whole.unwrap_or_default())
    }

    fn step(&self, step: &Step<'_>) -> String {
        let row = match step.what {
            What::Cell { table, row } => cell(table, row),
            _ => String::new(),
        };
        let is = becomes(step.value);
        format!("{}{is}{}{row}", step.text, shown(step.value, self.currency))
    }
}

/// A condition has an equals sign of its own.
fn becomes(value: Shown<'_>) -> &'static str {
    match value {
        Shown::Flag(_) => ": ",
        Shown::Number(..) | Shown::Word(_) => " = ",
    }
}

/// Whether a step is the beginning of a longer one, as in a sum of many: its last stage says it all.
fn is_begun(step: &Step<'_>, steps: &[Step<'_>]) -> bool {
    let longer = |other: &&Step<'_>| {
        other.what == What::Result && other.span.start == step.span.start && other.span.end > step.span.end
    };
    step.what == What::Result && steps.iter().any(|other| longer(&other))
}

fn explain_goods(table: &mut Table, goods: &Goods<'_>) {
    for share in &goods.shares {
        let waste = match share.waste {
            waste if waste.is_zero() => String::new(),
            waste => format!(" and {} for waste", in_unit(waste, goods.item.unit)),
        };
        let piece = if share.one_piece { ", in one piece" } else { "" };
        let needed = in_unit(share.quantity, goods.item.unit);
        table.note(format!(
            "{} line {}: {needed}{waste}{piece}",
            share.line.assembly.code, share.line.number
        ));
    }
    if !goods.left_over.is_zero() {
        table.note(format!(
            "left over: {}",
            in_unit(goods.left_over, goods.item.unit)
        ));
    }
}

fn explain_work(table: &mut Table, work: &Work<'_>) {
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
}

fn cell(table: &str, row: usize) -> String {
    format!(" (table {table}, row {row})")
}

/// A value of a formula; amounts in the currency.
fn shown(value: Shown<'_>, currency: Currency) -> String {
    match value {
        Shown::Number(value, unit) if unit.has_money() => amount(rounded(value), unit, currency),
        // A plain number may be a year.
        Shown::Number(value, Unit::ONE) => decimal::plain(rounded(value)),
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
