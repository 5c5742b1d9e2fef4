//! Charts as SVG, readable in black and white: what a price is made of, what loads a cellar, and how a price moves
//! with one answer.

use std::fmt::Write as _;

use serde_json::Value;

use super::answers;
use super::drawing::text_width;
use super::figure::{self, Reader};
use super::paper_fault::PaperFault;
use super::words::Language;
use super::xml::escaped;
use crate::quantity::{Money, Quantity};
use crate::quote::estimated::Estimated;
use crate::sweep::{Outcome, Point, VariedAnswer};

/// Width of a chart, hundredths of a mm.
const WIDTH: i64 = 17_200;
/// Height of a bar and of its row.
const BAR: i64 = 340;
const ROW: i64 = 560;
/// Room for a title over the chart.
const TITLE: i64 = 900;
/// Room of a curve, without its axes.
const CURVE: (i64, i64) = (13_500, 7_000);
/// Least room between two values under a curve.
const BETWEEN_VALUES: i64 = 150;
/// Half of a cross.
const CROSS: i64 = 110;
/// Most bars; those of the least parts beyond are one, the last.
const MOST_BARS: usize = 24;
/// The answer that names a class of unit.
const CLASS: &str = "/unit/class";
/// Longest label of a bar, in letters.
const LONGEST: usize = 46;

/// A bar: its label, its length in whatever whole unit, and what is written behind it.
struct Bar {
    label: String,
    length: i64,
    written: String,
}

/// A price at one value of the answer that is varied.
struct PricePoint {
    /// The value, as a person reads it.
    at: String,
    /// The total; none where the job cannot be priced with that value.
    total: Option<Money>,
}

/// What the price of an estimate is made of; for the office alone, since its costs are in it.
///
/// # Errors
/// A sum does not fit.
pub fn cost_breakdown(estimated: &Estimated, language: Language) -> Result<String, PaperFault> {
    let words = language.words();
    let figures = estimated.figures();
    let mut bars = Vec::new();
    let kinds = [
        ("material", words.materials),
        ("labour", words.labour),
        ("subcontract", words.subcontract),
        ("fee", words.fees),
    ];
    for (kind, label) in kinds {
        let costs = figures.lines.iter().filter(|line| line.kind == kind);
        let sum = Money::sum(figures.currency, costs.map(|line| line.cost))?;
        bars.push(money_bar(label, sum));
    }
    let totals = estimated.part("totals");
    let more = [
        ("contingency", words.contingency),
        ("overhead", words.overhead),
        ("warranty_reserve", words.warranty_reserve),
        ("profit", words.profit),
        ("tax", words.tax),
    ];
    for (name, label) in more {
        let amount: Money = serde_json::from_value(totals[name].clone())
            .map_err(|fault| PaperFault::unreadable("totals", fault))?;
        bars.push(money_bar(label, amount));
    }
    let total = estimated.totals().total;
    let title = format!(
        "{}: {} {}",
        words.cost_breakdown,
        figure::money(total),
        figures.currency.code()
    );
    Ok(bar_chart(&title, &bars))
}

fn money_bar(label: &str, amount: Money) -> Bar {
    Bar {
        label: label.to_owned(),
        length: amount.minor(),
        written: figure::money(amount),
    }
}

/// What loads a cellar, by component, from the sizing report of an estimate.
///
/// # Errors
/// The report does not read.
pub fn cellar_load(estimate: &Value, reader: Reader) -> Result<String, PaperFault> {
    let words = reader.words();
    let questions = estimate.pointer("/sizing/questions").and_then(Value::as_array);
    let mut questions = questions.into_iter().flatten();
    let load = questions.find(|question| question["name"] == "cellar_load");
    let results = load.and_then(|load| load["results"].as_array());
    let parts = results
        .into_iter()
        .flatten()
        .filter(|result| result["name"] == "through" || result["name"] == "part");
    // Names of faces that were surveyed one by one are the surveyor's own.
    let own_faces = estimate.pointer("/job/cellar/surfaces").is_some();
    let mut heats: Vec<(String, Quantity)> = Vec::new();
    for part in parts {
        let name = part["title"].as_str().unwrap_or_default();
        let own = own_faces && part["name"] == "through";
        let label = if own {
            name
        } else {
            reader.language.load_part(name)
        };
        let value = serde_json::from_value(part["value"].clone())
            .map_err(|fault| PaperFault::unreadable("sizing report", fault))?;
        heats.push((label.to_owned(), value));
    }
    heats.sort_by_key(|(_, heat)| std::cmp::Reverse(heat.value));
    let heats = gathered(heats, words.others);
    let bars = heats.into_iter().map(|(label, heat)| {
        Ok(Bar {
            label,
            length: whole(&heat)?,
            written: reader.quantity(&heat),
        })
    });
    Ok(bar_chart(
        words.cellar_load,
        &bars.collect::<Result<Vec<Bar>, PaperFault>>()?,
    ))
}

/// The greatest parts, and the sum of all beyond as the last, so that all of them together are the load.
fn gathered(mut parts: Vec<(String, Quantity)>, others: &str) -> Vec<(String, Quantity)> {
    if parts.len() <= MOST_BARS {
        return parts;
    }
    let beyond = parts.split_off(MOST_BARS - 1);
    let label = format!("{} {others}", beyond.len());
    let sum = beyond
        .into_iter()
        .map(|(_, heat)| heat)
        .reduce(|sum, heat| Quantity {
            value: sum.value.saturating_add(heat.value),
            ..sum
        });
    parts.extend(sum.map(|sum| (label, sum)));
    parts
}

fn whole(quantity: &Quantity) -> Result<i64, PaperFault> {
    use crate::quantity::rounding::{Mode, count};
    count(quantity.value, 0, Mode::HalfUp).ok_or(PaperFault::TooLarge("a load"))
}

/// How a price moves with the answer `varied`. Points stand at equal distances, in the order in which they came; where
/// there is no price the curve breaks and a cross says so.
///
/// # Errors
/// No point has a price.
pub fn price_curve(varied: &VariedAnswer, points: &[Point], reader: Reader) -> Result<String, PaperFault> {
    let points = points
        .iter()
        .zip(&varied.in_words)
        .map(|(point, in_words)| PricePoint {
            at: tick(varied, point.at.first(), in_words, reader),
            total: match &point.outcome {
                Outcome::Priced { total, .. } => Some(*total),
                Outcome::Faulty { .. } => None,
            },
        });
    let title = answers::title(&varied.answer, &varied.title, reader);
    curve(&title, &points.collect::<Vec<_>>(), reader)
}

/// A value under the curve.
fn tick(varied: &VariedAnswer, value: Option<&Value>, in_words: &str, reader: Reader) -> String {
    let shown = answers::shown(&varied.title, value, in_words, reader);
    match shown.rsplit_once(", ") {
        // Titles of units begin alike and end in their class.
        Some((_, class)) if varied.answer == CLASS => match class.strip_prefix(Language::En.words().class) {
            Some(name) => format!("{}{name}", reader.words().class),
            None => class.to_owned(),
        },
        _ => shown,
    }
}

fn curve(title: &str, points: &[PricePoint], reader: Reader) -> Result<String, PaperFault> {
    let words = reader.words();
    let totals = || points.iter().filter_map(|point| point.total).map(Money::minor);
    let (Some(least), Some(most)) = (totals().min(), totals().max()) else {
        return Err(PaperFault::unreadable(
            "price curve",
            "no point of it can be priced",
        ));
    };
    let (left, top) = (WIDTH - CURVE.0 - 300, TITLE + 500);
    let (right, bottom) = (left + CURVE.0, top + CURVE.1);
    let steps = i64::try_from(points.len().saturating_sub(1).max(1)).unwrap_or(1);
    let span = most.saturating_sub(least);
    let across = |at: usize| left + CURVE.0 * i64::try_from(at).unwrap_or(0) / steps;
    let down = |total: i64| {
        // One price alone lies half-way up: it is neither the least nor the most.
        let risen = (i128::from(total - least) * i128::from(CURVE.1)).checked_div(i128::from(span));
        bottom - risen.map_or(CURVE.1 / 2, |risen| i64::try_from(risen).unwrap_or(0))
    };
    let refused = points.iter().any(|point| point.total.is_none());
    let mut out = head(
        bottom + if refused { 1_500 } else { 900 },
        &format!("{}: {title}", words.price_curve),
    );
    let _ = writeln!(
        out,
        "<polyline points=\"{left},{top} {left},{bottom} {right},{bottom}\" stroke-width=\"25\"/>"
    );
    let mut line = String::new();
    for (at, point) in points.iter().enumerate() {
        let x = across(at);
        let Some(total) = point.total else {
            out += &polyline(&std::mem::take(&mut line));
            out += &cross(x, bottom);
            continue;
        };
        let y = down(total.minor());
        let _ = write!(line, "{x},{y} ");
        let _ = writeln!(out, "<circle cx=\"{x}\" cy=\"{y}\" r=\"70\" fill=\"#000\"/>");
    }
    out += &polyline(&line);
    let currency = points.iter().find_map(|point| point.total).map(Money::currency);
    if let Some(currency) = currency {
        let axis = format!("{}, {}", words.total_with_tax, currency.code());
        out += &label(100, top - 250, &axis);
    }
    for total in [most, least] {
        let amount = currency.map(|currency| figure::money(currency.minor(total)));
        let text = amount.unwrap_or_default();
        out += &label(left - 150 - text_width(&text), down(total) + 80, &text);
        if most == least {
            break;
        }
    }
    out += &values(points, &across, bottom);
    if refused {
        out += &cross(left + CROSS, bottom + 1_000);
        out += &label(left + 3 * CROSS, bottom + 1_080, words.no_price);
    }
    Ok(out + "</svg>\n")
}

/// A piece of a curve.
fn polyline(points: &str) -> String {
    match points.trim_end() {
        "" => String::new(),
        points => format!("<polyline points=\"{points}\" stroke-width=\"45\"/>\n"),
    }
}

/// A cross where a price is missing.
fn cross(x: i64, y: i64) -> String {
    let (left, right, top, bottom) = (x - CROSS, x + CROSS, y - CROSS, y + CROSS);
    format!(
        "<path d=\"M{left} {top}L{right} {bottom}M{left} {bottom}L{right} {top}\" stroke-width=\"40\"/>\n"
    )
}

/// As many values under the curve as have room beside one another, the last of them in any case.
fn values(points: &[PricePoint], across: &impl Fn(usize) -> i64, bottom: i64) -> String {
    let places = points.iter().enumerate().map(|(at, point)| {
        let wide = text_width(&point.at);
        let from = (across(at) - wide / 2).min(WIDTH - 100 - wide);
        (from, from + wide + BETWEEN_VALUES, point)
    });
    let places: Vec<_> = places.collect();
    let (count, last) = (places.len(), places.last().map_or(0, |(from, ..)| *from));
    let mut out = String::new();
    let mut taken = 0;
    for (at, (from, to, point)) in places.into_iter().enumerate() {
        if from > taken && (to <= last || at + 1 == count) {
            out += &label(from, bottom + 400, &point.at);
            taken = to;
        }
    }
    out
}

fn bar_chart(title: &str, bars: &[Bar]) -> String {
    let labels = bars.iter().map(|bar| shortened(&bar.label));
    let labels: Vec<String> = labels.collect();
    let left = 300 + labels.iter().map(|label| text_width(label)).max().unwrap_or(0);
    let written = bars.iter().map(|bar| text_width(&bar.written)).max().unwrap_or(0);
    let room = WIDTH - left - written - 400;
    let lengths = || bars.iter().map(|bar| bar.length);
    let (least, most) = (
        lengths().min().unwrap_or(0).min(0),
        lengths().max().unwrap_or(0).max(0),
    );
    let span = i128::from(most) - i128::from(least);
    let on_paper = |length: i64| {
        let length = (i128::from(length) * i128::from(room)).checked_div(span);
        i64::try_from(length.unwrap_or(0)).unwrap_or(0)
    };
    // A loss or a relief lies on the other side of nothing, and is white.
    let zero = left - on_paper(least);
    let height = TITLE + ROW * i64::try_from(bars.len()).unwrap_or(0) + 200;
    let mut out = head(height, title);
    let mut top = TITLE;
    for (bar, text) in bars.iter().zip(&labels) {
        let length = on_paper(bar.length);
        let (from, fill) = if length < 0 {
            (zero + length, "#fff")
        } else {
            (zero, "#999")
        };
        out += &label(100, top + BAR - 70, text);
        let _ = writeln!(
            out,
            "<rect x=\"{from}\" y=\"{top}\" width=\"{}\" height=\"{BAR}\" fill=\"{fill}\" stroke-width=\"15\"/>",
            length.abs()
        );
        out += &label(zero + length.max(0) + 150, top + BAR - 70, &bar.written);
        top += ROW;
    }
    out + "</svg>\n"
}

fn shortened(label: &str) -> String {
    if label.chars().count() <= LONGEST {
        return label.to_owned();
    }
    label.chars().take(LONGEST - 1).chain(['…']).collect()
}

fn head(height: i64, title: &str) -> String {
    let (wide, high) = (WIDTH / 100, height.div_euclid(100));
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{wide}mm\" height=\"{high}mm\" viewBox=\"0 0 {WIDTH} \
         {height}\" font-family=\"Noto Sans, sans-serif\" font-size=\"250\" fill=\"none\" stroke=\"#000\">\n\
         <title>{0}</title>\n<rect width=\"{WIDTH}\" height=\"{height}\" fill=\"#fff\" stroke=\"none\"/>\n",
        escaped(title)
    );
    let _ = writeln!(
        out,
        "<text x=\"100\" y=\"500\" font-size=\"330\" font-weight=\"bold\" fill=\"#000\" stroke=\"none\">{}</text>",
        escaped(title)
    );
    out
}

fn label(x: i64, y: i64, text: &str) -> String {
    format!(
        "<text x=\"{x}\" y=\"{y}\" fill=\"#000\" stroke=\"none\">{}</text>\n",
        escaped(text)
    )
}
