//! What the customer reads and signs. There is no field here for a cost, a margin, a wage, an hour or an internal
//! note, so that none can be printed.

use serde::Serialize;
use serde_json::Value;

use super::changes;
use super::figure;
use super::head::Head;
use super::house_style::Prices;
use super::offer::{Alternative, Offer};
use super::paper::{Kind, Paper};
use super::paper_fault::PaperFault;
use super::scope;
use super::survey::Survey;
use super::words::Words;
use crate::job::choices::Mounting;
use crate::quantity::Money;
use crate::quantity::decimal::{RATE_SCALE, parse, plain};
use crate::quote::estimated::LineFigures;

/// The contents of a proposal.
#[derive(Debug, Serialize)]
struct Proposal {
    words: &'static Words,
    head: Head,
    /// What is said of a draft that a stop stands in.
    not_ready: Option<&'static str>,
    introduction: Vec<String>,
    scope: Vec<String>,
    drawing_alt: String,
    detail: Prices,
    sections: Vec<Section>,
    totals: Vec<Row>,
    tax_note: Option<&'static str>,
    /// What a change order does to its contract, and what is said where that is nothing.
    changes: Vec<changes::Group>,
    unchanged: Option<&'static str>,
    base_total: String,
    alternates: Vec<Offered>,
    not_included: Vec<String>,
    assumptions: Vec<String>,
    payments: Vec<Row>,
    warranty: Vec<String>,
    terms: Vec<String>,
    notes: Vec<String>,
    closing: Vec<String>,
    cautions: Vec<&'static str>,
    acceptance: Vec<String>,
}

/// A section of the work.
#[derive(Debug, Serialize)]
struct Section {
    title: String,
    /// What is done in it.
    works: Vec<String>,
    price: String,
    lines: Vec<SoldLine>,
}

/// A line as it is sold.
#[derive(Debug, Serialize)]
struct SoldLine {
    description: String,
    quantity: Option<String>,
    price: String,
}

/// A label and an amount.
#[derive(Debug, Serialize)]
struct Row {
    label: String,
    amount: String,
    strong: bool,
}

/// An alternate as it is offered.
#[derive(Debug, Serialize)]
struct Offered {
    title: String,
    note: Option<String>,
    difference: String,
    total: String,
}

/// Makes the proposal.
///
/// # Errors
/// The estimate does not read, or a sum does not fit.
pub fn proposal(offer: &Offer) -> Result<Paper, PaperFault> {
    let words = offer.words();
    let survey = Survey::read(offer.estimated.tree())?;
    let drawing = offer.drawing()?;
    let changes = changes::changes(offer)?;
    let content = Proposal {
        words,
        head: Head::of(offer, &survey),
        not_ready: may_not_go_out(offer).then_some(words.not_ready),
        introduction: introduction(offer),
        scope: scope::sentences(offer.estimated.tree(), &survey, offer.reader())?,
        drawing_alt: drawing.alt.clone(),
        detail: offer.style.prices,
        sections: sections(offer)?,
        totals: totals(offer)?,
        tax_note: offer.estimated.totals().tax.is_zero().then_some(words.tax_none),
        unchanged: changes::unchanged(offer, &changes),
        changes,
        base_total: figure::money(offer.estimated.totals().total),
        alternates: offer
            .alternates
            .iter()
            .map(|alternate| offered(offer, alternate))
            .collect::<Result<_, _>>()?,
        not_included: not_included(offer),
        assumptions: texts(offer.estimated.part("assumptions"), "wording"),
        payments: payments(offer.estimated.part("payment_schedule"))?,
        warranty: offer.style.wording.warranty.clone(),
        terms: offer.style.wording.terms.clone(),
        notes: offer.wording.notes.clone(),
        closing: offer.wording.closing.iter().cloned().collect(),
        cautions: cautions(&survey, words),
        acceptance: acceptance(offer),
    };
    let title = if offer.change.is_some() {
        words.change_order
    } else {
        words.proposal
    };
    offer.paper(Kind::Proposal, title, drawing, &content)
}

/// Whether it is a draft that cannot be issued as it stands. Why is the office's own business.
fn may_not_go_out(offer: &Offer) -> bool {
    let alternates = offer.alternates.iter().map(|alternate| &alternate.estimated);
    let mut all = alternates.chain([&offer.estimated]);
    offer.name.is_none() && all.any(|estimated| !estimated.figures().may_be_issued)
}

/// What the house style says in front is of an offer; a change order begins with what it changes.
fn introduction(offer: &Offer) -> Vec<String> {
    let first = match &offer.change {
        Some(change) => std::slice::from_ref(&change.title),
        None => &offer.style.wording.introduction,
    };
    first.iter().chain(&offer.wording.introduction).cloned().collect()
}

fn acceptance(offer: &Offer) -> Vec<String> {
    let usual = if offer.alternates.is_empty() {
        offer.words().acceptance_text_plain
    } else {
        offer.words().acceptance_text
    };
    match offer.style.wording.acceptance.as_slice() {
        [] => vec![usual.to_owned()],
        own => own.to_vec(),
    }
}

/// The member `name` of every entry of a list, each text once.
fn texts(list: &Value, name: &str) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for text in list
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(|entry| entry[name].as_str())
    {
        if !found.iter().any(|known| known == text) {
            found.push(text.to_owned());
        }
    }
    found
}

fn not_included(offer: &Offer) -> Vec<String> {
    let mut all = texts(offer.estimated.part("not_priced"), "wording");
    all.extend(texts(offer.estimated.part("exclusions"), "text"));
    all.extend(offer.exclusions.iter().cloned());
    all
}

/// Keys of lines that a person put in.
const BY_HAND: &str = "manual:";
/// Keys of allowances for what nobody knows.
pub(super) const ALLOWANCES: &str = "allowance:";
/// Keys of lines that the policy adds. They tell how the office reckons, so the customer reads their sum.
pub(super) const POLICY_LINES: &str = "policy:";

/// The section of a line: allowances and what a person put in by hand have their own, and charges of the policy have the last.
pub(super) fn section_of<'t>(line: &LineFigures, tree: &'t Value, words: &'static Words) -> &'t str {
    let without = if line.key.starts_with(BY_HAND) {
        words.by_hand_section
    } else if line.key.starts_with(ALLOWANCES) {
        words.allowances
    } else {
        words.other_section
    };
    tree["section"].as_str().unwrap_or(without)
}

/// The lines by section, in the order of the bill. What the policy adds stands last.
fn sections(offer: &Offer) -> Result<Vec<Section>, PaperFault> {
    let figures = offer.estimated.figures();
    let trees = offer
        .estimated
        .part("lines")
        .as_array()
        .map_or(&[][..], Vec::as_slice);
    let mut found: Vec<(Section, Money)> = Vec::new();
    let mut added = figures.currency.minor(0);
    for (line, tree) in figures.lines.iter().zip(trees) {
        let title = section_of(line, tree, offer.words());
        let known = found.iter().position(|(section, _)| section.title == title);
        let at = known.unwrap_or_else(|| {
            let section = Section {
                title: title.to_owned(),
                works: Vec::new(),
                price: String::new(),
                lines: Vec::new(),
            };
            found.push((section, figures.currency.minor(0)));
            found.len() - 1
        });
        let Some((section, sum)) = found.get_mut(at) else {
            continue;
        };
        *sum = sum.plus(line.price)?;
        if line.key.starts_with(POLICY_LINES) {
            added = added.plus(line.price)?;
            continue;
        }
        section.lines.push(SoldLine {
            description: line.description.clone(),
            quantity: line
                .quantity
                .as_ref()
                .map(|needed| offer.reader().quantity(needed)),
            price: figure::money(line.price),
        });
        // Its sentence stands among the assumptions.
        if line.key.starts_with(ALLOWANCES) {
            continue;
        }
        // They stand in one sentence, so none has a full stop of its own.
        let work = tree["assembly_title"].as_str().unwrap_or(&line.description);
        let work = work.strip_suffix('.').unwrap_or(work);
        if !section.works.iter().any(|known| known == work) {
            section.works.push(work.to_owned());
        }
    }
    if let Some((section, _)) = found.last_mut().filter(|_| !added.is_zero()) {
        section.lines.push(SoldLine {
            description: offer.words().other_section.to_owned(),
            quantity: None,
            price: figure::money(added),
        });
    }
    Ok(found
        .into_iter()
        .map(|(section, sum)| Section {
            price: figure::money(sum),
            ..section
        })
        .collect())
}

fn row(label: impl Into<String>, amount: Money, strong: bool) -> Row {
    Row {
        label: label.into(),
        amount: figure::money(amount),
        strong,
    }
}

fn totals(offer: &Offer) -> Result<Vec<Row>, PaperFault> {
    let words = offer.words();
    let totals = offer.estimated.totals();
    let mut rows = Vec::new();
    if !totals.discount.is_zero() {
        rows.push(row(words.lines_total, totals.price, false));
        let cut = totals.discount.currency().minor(0).minus(totals.discount)?;
        rows.push(row(words.discount, cut, false));
    }
    if !totals.discount.is_zero() || !totals.tax.is_zero() {
        rows.push(row(words.net, totals.net, false));
    }
    let taxes = offer.estimated.part("totals")["taxes"].as_array();
    for tax in taxes.into_iter().flatten() {
        let amount = money(&tax["amount"])?;
        if !amount.is_zero() {
            let rate = tax["rate"].as_str().unwrap_or_default();
            let rate = parse(rate, RATE_SCALE).map_or(rate.to_owned(), plain);
            let title = tax["title"].as_str().unwrap_or_default();
            let base = figure::money(money(&tax["base"])?);
            let label = format!("{}, {title}: {rate} % {} {base}", words.tax, words.tax_on);
            rows.push(row(label, amount, false));
        }
    }
    match &offer.change {
        None => rows.push(row(words.total, totals.total, true)),
        Some(change) => {
            let before = change.before.totals().total;
            rows.push(row(words.contract_before, before, false));
            let moved = totals.total.minus(before)?;
            rows.push(row(words.this_change, moved, true));
            rows.push(row(words.contract_after, totals.total, true));
        }
    }
    Ok(rows)
}

fn money(tree: &Value) -> Result<Money, PaperFault> {
    serde_json::from_value(tree.clone()).map_err(|fault| PaperFault::unreadable("totals", fault))
}

fn offered(offer: &Offer, alternate: &Alternative) -> Result<Offered, PaperFault> {
    let total = alternate.estimated.totals().total;
    let moved = total.minus(offer.estimated.totals().total)?;
    Ok(Offered {
        title: alternate.title.clone(),
        note: alternate.note.clone(),
        difference: figure::moved(moved),
        total: figure::money(total),
    })
}

fn payments(schedule: &Value) -> Result<Vec<Row>, PaperFault> {
    let rows = schedule.as_array().into_iter().flatten().map(|part| {
        let label = part["label"].as_str().unwrap_or_default();
        Ok(row(label, money(&part["amount"])?, false))
    });
    rows.collect()
}

/// The cautions that concern who lives there.
fn cautions(survey: &Survey, words: &'static Words) -> Vec<&'static str> {
    let cut = survey.unit.mounting != Mounting::Exposed || survey.finishes.ceiling_patch.is_some();
    let ceiling = cut.then_some(words.caution_ceiling);
    [
        words.caution_licensed,
        words.caution_refrigerant,
        words.caution_electric,
    ]
    .into_iter()
    .chain(ceiling)
    .chain([words.caution_water])
    .collect()
}
