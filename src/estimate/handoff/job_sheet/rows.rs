//! Rows of the crew's tables: legs, penetrations, tasks, hours, material, and what is to be minded.

use serde::Serialize;
use serde_json::Value;

use crate::handoff::answers;
use crate::handoff::figure::{self, Reader};
use crate::handoff::measured;
use crate::handoff::measures::Measures;
use crate::handoff::offer::Offer;
use crate::handoff::paper_fault::PaperFault;
use crate::handoff::proposal::{ALLOWANCES, POLICY_LINES};
use crate::handoff::routes;
use crate::handoff::survey::{Leg, Survey};
use crate::handoff::words::{Language, Words};
use crate::job::choices::Known;
use crate::job::{NotMeasured, UsualAnswer};
use crate::pricing::PRICING_POLICY;
use crate::quantity::rounding::{Mode, to_scale};
use crate::quantity::unit::Unit;
use crate::quantity::{Decimal, Quantity};

/// A leg of a route.
#[derive(Debug, Serialize)]
pub(super) struct LegRow {
    name: String,
    direction: &'static str,
    length: String,
    space: &'static str,
    bends: String,
    height: String,
    fall: Option<String>,
}

/// The tasks of a section of the work.
#[derive(Debug, Serialize)]
pub(super) struct TaskSection {
    title: String,
    tasks: Vec<[String; 3]>,
}

/// Something to load.
#[derive(Debug, Serialize)]
pub(super) struct Load {
    code: String,
    description: String,
    needed: String,
    packs: String,
}

pub(super) fn legs(mark: &str, legs: &[Leg], reader: Reader) -> Result<Vec<LegRow>, PaperFault> {
    let runs = routes::unfold(legs)?;
    let rows = runs.iter().enumerate().map(|(at, run)| {
        Ok(LegRow {
            name: format!("{mark}{}", at + 1),
            direction: reader.language.choice(run.leg.direction),
            length: reader.quantity(&run.leg.length),
            space: reader.language.choice(run.leg.space),
            bends: run.leg.bends.to_string(),
            height: reader.height(run.to.y)?,
            fall: run.leg.fall.as_ref().map(|fall| reader.quantity(fall)),
        })
    });
    rows.collect()
}

pub(super) fn penetrations(survey: &Survey, language: Language) -> Vec<[String; 3]> {
    let words = language.words();
    let rows = survey.line_set.penetrations.iter().map(|one| {
        let rated = if one.fire_rated { words.yes } else { words.no };
        [
            language.choice(one.construction).to_owned(),
            one.count.to_string(),
            rated.to_owned(),
        ]
    });
    rows.collect()
}

/// A code as a person reads it: `lead_mechanic` as `Lead mechanic`.
pub(super) fn spoken(code: &str) -> String {
    let text = code.replace(['_', '-'], " ");
    let mut letters = text.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}

pub(super) fn quantity(tree: &Value) -> Option<Quantity> {
    serde_json::from_value(tree.clone()).ok()
}

pub(super) fn hours_text(hours: Decimal) -> String {
    figure::digits(to_scale(hours, 2, Mode::HalfUp))
}

pub(super) fn text(line: &Value, name: &str) -> String {
    line[name].as_str().unwrap_or_default().to_owned()
}

/// Tasks in the order of the bill. An assembly of goods alone is fitted with other work: it is told without hours of its own.
pub(super) fn tasks(lines: &[Value], words: &'static Words) -> Vec<TaskSection> {
    let mut sections: Vec<TaskSection> = Vec::new();
    let mut goods_alone: Vec<&str> = Vec::new();
    for line in lines {
        let task = match line["kind"].as_str() {
            Some("labour") => task(line),
            Some("material") => match line["assembly"].as_str() {
                Some(code) if !goods_alone.contains(&code) && is_goods_alone(lines, code) => {
                    goods_alone.push(code);
                    [text(line, "assembly_title"), String::new(), String::new()]
                }
                _ => continue,
            },
            _ => continue,
        };
        let title = line["section"].as_str().unwrap_or(words.by_hand_section);
        match sections.iter_mut().find(|section| section.title == title) {
            Some(section) => section.tasks.push(task),
            None => sections.push(TaskSection {
                title: title.to_owned(),
                tasks: vec![task],
            }),
        }
    }
    sections
}

fn task(line: &Value) -> [String; 3] {
    let hours = quantity(&line["hours"]).map(|hours| hours_text(hours.value));
    let who = line["labour_class"].as_str().map(spoken);
    [
        text(line, "description"),
        who.unwrap_or_default(),
        hours.unwrap_or_default(),
    ]
}

fn is_goods_alone(lines: &[Value], assembly: &str) -> bool {
    let mut own = lines.iter().filter(|line| line["assembly"] == assembly);
    own.all(|line| line["kind"] == "material")
}

/// Hours by class, as the office rounds them.
pub(super) fn hours(offer: &Offer) -> Vec<[String; 2]> {
    let classes = offer.estimated.part("labour").as_array();
    let rows = classes.into_iter().flatten().filter_map(|class| {
        let hours = quantity(&class["hours"])?;
        Some([spoken(class["labour_class"].as_str()?), hours_text(hours.value)])
    });
    rows.collect()
}

pub(super) fn other_works(lines: &[Value]) -> Vec<String> {
    let works = lines.iter().filter(|line| line["kind"] == "subcontract");
    works.map(|line| text(line, "description")).collect()
}

/// What the office gets a permit for, hires or pays a fee for. What the policy adds, and allowances, are nothing to be done.
pub(super) fn permits_and_hires(lines: &[Value]) -> Vec<String> {
    let fees = lines.iter().filter(|line| line["kind"] == "fee");
    let own = fees.filter(|line| {
        let key = line["key"].as_str().unwrap_or_default();
        !key.starts_with(POLICY_LINES) && !key.starts_with(ALLOWANCES)
    });
    own.map(|line| text(line, "description")).collect()
}

pub(super) fn material(lines: &[Value], reader: Reader) -> Result<Vec<Load>, PaperFault> {
    let goods = lines.iter().filter(|line| line["kind"] == "material");
    let loads = goods.map(|line| {
        let needed = match (quantity(&line["quantity"]), quantity(&line["waste"])) {
            (Some(needed), Some(waste)) => {
                let value = needed.value.checked_add(waste.value);
                let value = value.ok_or(PaperFault::TooLarge("a quantity"))?;
                reader.quantity(&Quantity { value, ..needed })
            }
            (Some(needed), None) => reader.quantity(&needed),
            (None, _) => String::new(),
        };
        let packs = line["bought"]["packs"]
            .as_array()
            .into_iter()
            .flatten()
            .map(|pack| packed(pack, reader));
        Ok(Load {
            code: text(line, "code"),
            description: text(line, "description"),
            needed,
            packs: packs.collect::<Vec<_>>().join(", "),
        })
    });
    loads.collect()
}

/// `3 × coil (50 ft): 150 ft`: of several packs of a length, a weight or the like also how much all of them hold.
fn packed(pack: &Value, reader: Reader) -> String {
    let (count, name) = (&pack["count"], pack["name"].as_str().unwrap_or_default());
    let size = quantity(&pack["size"]);
    let shown = size.map(|size| reader.quantity(&size)).unwrap_or_default();
    let told = format!("{count} × {name} ({shown})");
    let measured = size.filter(|size| size.unit != Unit::EACH);
    let all = measured.zip(count.as_u64()).and_then(|(size, count)| {
        let value = size.value.checked_mul(Decimal::from(count))?;
        (count > 1).then(|| (size, reader.quantity(&Quantity { value, ..size })))
    });
    match all {
        None => told,
        // What is sold by its unit of measure has no size of its own.
        Some((size, all)) if size.value == Decimal::ONE => format!("{count} × {name}: {all}"),
        Some((_, all)) => format!("{told}: {all}"),
    }
}

/// What the rulebook notes at a line, each once.
pub(super) fn hints(lines: &[Value]) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for line in lines {
        if let Some(note) = line["note"].as_str() {
            let hint = format!("{}: {note}", text(line, "description"));
            if !found.contains(&hint) {
                found.push(hint);
            }
        }
    }
    found
}

pub(super) fn texts(list: &Value, name: &str) -> Vec<String> {
    let entries = list.as_array().into_iter().flatten();
    entries
        .filter_map(|entry| entry[name].as_str())
        .map(str::to_owned)
        .collect()
}

/// What was told or assumed at the survey, with the surveyor's note. What nobody knows stands among the assumptions.
pub(super) fn told_answers(tree: &Value, reader: Reader) -> Result<Vec<String>, PaperFault> {
    let answers: Vec<NotMeasured> = answers::read(tree, "not_measured")?;
    let told = answers
        .iter()
        .filter(|answer| answer.known != Known::Unknown && is_work(&answer.answer, answer.value.as_ref()));
    let told = told.map(|answer| {
        let note = answer.note.iter().map(|note| format!("; {note}"));
        let how = answers::known(answer.known, reader);
        format!(
            "{} ({how}{})",
            answers::answered(answer, reader),
            note.collect::<String>()
        )
    });
    Ok(told.collect())
}

/// What was left out and taken as is usual.
pub(super) fn usual_answers(tree: &Value, reader: Reader) -> Result<Vec<String>, PaperFault> {
    let all: Vec<UsualAnswer> = answers::read(tree, "usual_answers")?;
    let work = all
        .iter()
        .filter(|answer| is_work(&answer.answer, answer.value.as_ref()));
    Ok(answers::usual(work, reader))
}

/// How the sale is taxed and what something costs is nothing for the crew.
fn is_work(answer: &str, value: Option<&Value>) -> bool {
    !answer.starts_with("/tax/") && !answers::is_money(value)
}

/// The level of what keeps an offer from being issued.
const STOP: &str = "stop";
/// The caution that says in the office's words which answer is missing.
const OF_AN_ANSWER: &str = "unknown_answer";

/// The cautions, or else the stops, but for those that speak of money. In another language than that of the rules a caution of the program has a
/// sentence with the job's figures in it, or a fixed one with them behind it, and one of the office has what its house style
/// says. A sentence of the office keeps the figures that it wrote itself; the values of the job in it are told in the reader's
/// measures.
pub(super) fn cautions(list: &Value, stops: bool, offer: &Offer) -> Vec<String> {
    let entries = list.as_array().into_iter().flatten();
    let level = entries.filter(|caution| (caution["level"] == STOP) == stops);
    let work = level.filter(|caution| caution["source"] != PRICING_POLICY);
    work.map(|caution| said(caution, offer)).collect()
}

fn said(caution: &Value, offer: &Offer) -> String {
    let (code, message) = (text(caution, "code"), text(caution, "message"));
    let reader = offer.reader();
    if let Some(own) = offer.style.cautions.iter().find(|own| own.code == code) {
        return own.text.clone();
    }
    let by_rules = || offer.rules.told(&code, &message, reader.measures);
    // A code with a point in it is one of the program's, also where an earlier program had it.
    let ours = code.contains('.') || Language::is_of_the_program(&code);
    let measures = if ours && code != OF_AN_ANSWER {
        reader.measures
    } else {
        Measures::Customary
    };
    let in_measures = by_rules().unwrap_or_else(|| measured::converted(&message, measures));
    let Some(fixed) = reader.language.caution(&code) else {
        return in_measures;
    };
    if let Some(told) = reader.language.told(&code, &in_measures) {
        return told;
    }
    match measured::figures(&message, measures).as_slice() {
        [] => fixed.to_owned(),
        figures => format!("{} ({}).", fixed.trim_end_matches('.'), figures.join("; ")),
    }
}
