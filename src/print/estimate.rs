//! An estimate: the bill, hours, totals, instalments, and everything that the office must know of it.

use estimate::bill::line::Content;
use estimate::estimate::Estimate;
use estimate::job::choices::TaxTreatment;
use estimate::pricing::Totals;
use estimate::quantity::{counted, decimal};
use estimate::rules::outcome::Level;
use serde_json::Value;

use super::answers::answers;
use super::bill::bill;
use super::explanation::Explainer;
use super::figure::{hours, money, percent};
use super::table::{Column, Table, WIDTH, wrapped};
use super::{heading, list};

/// Why hours at their rate are not the cost of a line.
const ROUNDING: &str = "The hours of a class are added up over its lines and rounded as the policy says. \
    What the rounded hours cost is spread over the lines by their hours, so that a line costs a little more \
    or less than its own hours at the rate.";

/// An estimate as text.
pub fn estimate(estimate: &Estimate<'_>, explain: bool) -> String {
    let mut out = head(estimate);
    let mut explainer = explain.then(|| Explainer::new(estimate.currency, estimate.facts));
    heading(&mut out, "Bill");
    out.push_str(&bill(&estimate.priced, explainer.as_mut()));
    if let Some(explainer) = &explainer {
        heading(&mut out, "Facts in the formulas");
        out.push_str(&explainer.facts());
    }
    heading(&mut out, "Labour");
    out.push_str(&labour(estimate));
    heading(&mut out, "Totals");
    out.push_str(&totals(&estimate.priced.totals));
    if let Some(untaxed) = untaxed(estimate) {
        out.push_str(&format!("\n{}", wrapped(&untaxed, "", WIDTH)));
    }
    if let (Some(explainer), Some(formulas)) = (&mut explainer, &estimate.priced.explanation) {
        out.push('\n');
        out.push_str(&explainer.job(formulas));
    }
    heading(&mut out, "Payment schedule");
    out.push_str(&schedule(estimate));
    out.push_str(&words(estimate));
    out
}

fn head(estimate: &Estimate<'_>) -> String {
    let text = |name: &str| estimate.job.get(name).and_then(Value::as_str).unwrap_or_default();
    let mut out = wrapped(text("title"), "", WIDTH);
    for name in ["customer", "site_name"] {
        if !text(name).is_empty() {
            out.push_str(&wrapped(text(name), "", WIDTH));
        }
    }
    out.push_str(&format!(
        "\nRulebook {} version {}, policy {} version {}, prices of {}, amounts in {}\n",
        estimate.rulebook.id,
        estimate.rulebook.version,
        estimate.policy.id,
        estimate.policy.version,
        estimate.priced_on,
        estimate.currency.code(),
    ));
    let stops = estimate
        .cautions
        .iter()
        .filter(|caution| caution.level == Level::Stop)
        .count();
    if stops > 0 {
        out.push_str(&format!(
            "NOT TO BE ISSUED: {}, see Cautions\n",
            counted(stops, "stop")
        ));
    }
    out
}

fn labour(estimate: &Estimate<'_>) -> String {
    let columns = ["Hours of the lines", "Hours", "An hour", "Cost", "Price"].map(Column::Right);
    let mut table = Table::new(&[&[Column::Left("Class")], columns.as_slice()].concat());
    for class in &estimate.priced.labour {
        table.row([
            class_title(estimate, class.class).to_owned(),
            hours(class.line_hours),
            hours(class.hours),
            class.rate.to_string(),
            money(class.cost),
            money(class.price),
        ]);
    }
    table.rule();
    table.row([
        "All".to_owned(),
        String::new(),
        hours(estimate.priced.totals.hours),
        String::new(),
        String::new(),
        String::new(),
    ]);
    table.text() + "\n" + &wrapped(ROUNDING, "", WIDTH)
}

/// What a class is called, which its lines say.
fn class_title<'a>(estimate: &Estimate<'a>, class: &'a str) -> &'a str {
    let mut works = estimate
        .priced
        .lines
        .iter()
        .filter_map(|line| match &line.bill.content {
            Content::Work(work) => Some(work),
            Content::Goods(_) | Content::Sum(_) => None,
        });
    works
        .find(|work| work.class.code == class)
        .map_or(class, |work| work.class.title.as_str())
}

/// Why there is no tax on the sale.
fn untaxed(estimate: &Estimate<'_>) -> Option<String> {
    match estimate.priced.totals.treatment {
        TaxTreatment::TaxOnSale => None,
        TaxTreatment::ContractorPays => {
            Some("No tax on the sale: we pay it on what we purchase, and it is in the cost.".to_owned())
        }
        TaxTreatment::Exempt => {
            let certificate = estimate.job.pointer("/tax/exemption_certificate");
            let number = certificate.and_then(Value::as_str);
            let number = number.map(|number| format!(", certificate {number}"));
            let number = number.unwrap_or_default();
            Some(format!("No tax on the sale: it is exempt{number}."))
        }
    }
}

fn totals(totals: &Totals<'_>) -> String {
    let mut table = Table::new(&[Column::Left(""), Column::Right("")]);
    let mut row = |name: &str, figure: String| table.row([name.to_owned(), figure]);
    row("Direct cost", money(totals.cost));
    row("Contingency", money(totals.contingency));
    row("Overhead", money(totals.overhead));
    row("Full cost", money(totals.full_cost));
    row("Price", money(totals.price));
    if !totals.discount.is_zero() {
        row("Discount", money(totals.discount));
    }
    row("Net", money(totals.net));
    for tax in &totals.taxes {
        let rate = decimal::plain(tax.rate);
        row(
            &format!("Tax, {}: {rate} % of {}", tax.title, money(tax.base)),
            money(tax.amount),
        );
    }
    row("Total", money(totals.total));
    row("Warranty reserve, of price", money(totals.warranty_reserve));
    row("Profit, of net", money(totals.profit));
    row(
        "Markup on subcontracts, of profit",
        money(totals.subcontract_markup),
    );
    if let Some(margin) = totals.margin {
        row("Margin, of net", percent(margin));
    }
    table.text()
}

fn schedule(estimate: &Estimate<'_>) -> String {
    let mut table = Table::new(&[Column::Left(""), Column::Right(""), Column::Right("")]);
    for payment in &estimate.priced.payment_schedule {
        let share = format!("{} %", decimal::plain(payment.share));
        table.row([payment.label.to_owned(), share, money(payment.amount)]);
    }
    table.text()
}

/// What goes with the figures, in words.
fn words(estimate: &Estimate<'_>) -> String {
    let mut out = String::new();
    let cautions = estimate.cautions.iter().map(|caution| {
        let level = match caution.level {
            Level::Caution => "caution",
            Level::Stop => "STOP",
        };
        let source = caution
            .source
            .map(|source| format!(" [{source}]"))
            .unwrap_or_default();
        format!("{level} {}: {}{source}", caution.code, caution.message)
    });
    list(&mut out, "Cautions", cautions);
    out.push_str(&answers(
        &estimate.not_measured,
        &estimate.assumptions,
        &estimate.usual_answers,
    ));
    let missing = estimate.not_priced.iter().map(|missing| match missing.wording {
        Some(wording) => format!("{}: {wording}", missing.title),
        None => missing.title.to_owned(),
    });
    list(&mut out, "Not priced", missing);
    list(
        &mut out,
        "Not contained",
        estimate
            .exclusions
            .iter()
            .map(|exclusion| exclusion.text.to_owned()),
    );
    list(
        &mut out,
        "Written for",
        estimate.adopted_codes.iter().map(|code| (*code).to_owned()),
    );
    out
}
