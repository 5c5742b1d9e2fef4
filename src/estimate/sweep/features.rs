//! What of an estimate jumps: stops, units, sizes, counts, packs and lines.

use super::breaks::{Jump, What};
use crate::bill::line::{BillLine, Content, Goods};
use crate::catalogue::Catalogue;
use crate::estimate::Estimate;
use crate::quantity::decimal::plain;
use crate::quantity::fact::{FactDef, FactKind, FactValue};
use crate::rules::outcome::Level;
use crate::sizing::facts::{definitions, values};
use rust_decimal::Decimal;
use std::collections::{BTreeMap, BTreeSet};

/// Numbers of the sizing that come in sizes.
const SIZES: [&str; 3] = ["unit.count", "wiring.breaker", "drain.tube_size"];

/// The facts of the sizing that come in sizes and words, with their places among all of them.
pub(super) struct Sizes {
    facts: Vec<(usize, FactDef)>,
}

impl Sizes {
    pub(super) fn of(catalogue: &Catalogue) -> Self {
        let in_sizes = |fact: &FactDef| match fact.kind {
            FactKind::Choice(_) => true,
            FactKind::Number(_) => SIZES.contains(&&*fact.name),
            FactKind::Flag => false,
        };
        let facts = definitions(catalogue).into_iter().enumerate();
        Self {
            facts: facts.filter(|(_, fact)| in_sizes(fact)).collect(),
        }
    }

    fn told(&self, place: usize, value: FactValue) -> String {
        let fact = self.facts.get(place).map(|(_, fact)| fact);
        match (value, fact.map(|fact| &fact.kind)) {
            (FactValue::Choice(word), Some(FactKind::Choice(domain))) => {
                domain.word(word).unwrap_or_default().to_owned()
            }
            (FactValue::Number(value), Some(FactKind::Number(unit))) => format!("{} {unit}", plain(value)),
            _ => String::new(),
        }
    }
}

/// What may jump, of one estimate.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Features {
    /// It could not be made.
    Faulty,
    /// It was made.
    Priced(Priced),
}

/// What may jump, of an estimate that was made.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Priced {
    sizes: Vec<FactValue>,
    /// No class could be chosen: the one that is there only lets the rest be figured.
    figuring_only: bool,
    /// What is counted in wholes, by its name.
    counts: BTreeMap<String, CountFeature>,
    /// Of each line its words and what is bought, by its key.
    lines: BTreeMap<String, LineFeature>,
    stops: Vec<String>,
}

/// A count and what it is of.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct CountFeature {
    title: String,
    value: Decimal,
}

/// What of a line may jump.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct LineFeature {
    description: String,
    /// The packs, for goods.
    bought: Option<String>,
}

impl LineFeature {
    fn of(line: &BillLine<'_>) -> Self {
        Self {
            description: line.description.to_owned(),
            bought: match &line.content {
                Content::Goods(goods) => Some(packs(goods)),
                Content::Work(_) | Content::Sum(_) => None,
            },
        }
    }
}

fn packs(goods: &Goods<'_>) -> String {
    let unit = goods.item.unit;
    let told = goods
        .packs
        .iter()
        .map(|pack| format!("{} × {} {unit}", pack.count, plain(pack.size)));
    told.collect::<Vec<_>>().join(" + ")
}

impl Features {
    pub(super) fn of(estimate: &Estimate<'_>, sizes: &Sizes) -> Self {
        let all = values(&estimate.sizing);
        let lines = estimate.priced.lines.iter();
        let stops = estimate
            .cautions
            .iter()
            .filter(|caution| caution.level == Level::Stop);
        let mut stops: Vec<String> = stops.map(|stop| stop.code.to_owned()).collect();
        stops.sort_unstable();
        stops.dedup();
        let counts = estimate.counts.iter().map(|count| {
            let (title, value) = (count.title.to_owned(), count.value);
            (count.name.to_owned(), CountFeature { title, value })
        });
        Self::Priced(Priced {
            sizes: sizes
                .facts
                .iter()
                .filter_map(|(place, _)| all.get(*place).copied())
                .collect(),
            figuring_only: estimate.sizing.equipment.for_figuring_only,
            counts: counts.collect(),
            lines: lines
                .map(|line| (line.bill.key.to_string(), LineFeature::of(line.bill)))
                .collect(),
            stops,
        })
    }

    /// What jumps from these to `after`, stops first; nothing when they are the same.
    pub(super) fn jumps(&self, after: &Self, sizes: &Sizes) -> Vec<Jump> {
        let estimate = |before: bool| {
            let made = |here: bool| here.then(|| "can be made".to_owned());
            vec![Jump::new(
                What::Estimate,
                "estimate",
                "",
                made(before),
                made(!before),
            )]
        };
        match (self, after) {
            (Self::Faulty, Self::Faulty) => Vec::new(),
            (Self::Faulty, Self::Priced(_)) => estimate(false),
            (Self::Priced(_), Self::Faulty) => estimate(true),
            (Self::Priced(before), Self::Priced(after)) => {
                let mut jumps = stop_jumps(&before.stops, &after.stops);
                size_jumps(before, after, sizes, &mut jumps);
                count_jumps(&before.counts, &after.counts, &mut jumps);
                line_jumps(&before.lines, &after.lines, &mut jumps);
                jumps
            }
        }
    }
}

fn stop_jumps(old: &[String], new: &[String]) -> Vec<Jump> {
    let stop = |code: &str, before: bool| {
        let stands = |here: bool| here.then(|| "stands".to_owned());
        Jump::new(What::Stop, code, "", stands(before), stands(!before))
    };
    let gone = old.iter().filter(|code| !new.contains(code));
    let come = new.iter().filter(|code| !old.contains(code));
    let gone = gone.map(|code| stop(code, true));
    gone.chain(come.map(|code| stop(code, false))).collect()
}

fn size_jumps(before: &Priced, after: &Priced, sizes: &Sizes, jumps: &mut Vec<Jump>) {
    for (place, (_, fact)) in sizes.facts.iter().enumerate() {
        let class = &*fact.name == "unit.class";
        let told = |of: &Priced| {
            let told = sizes.told(place, *of.sizes.get(place)?);
            Some(match class && of.figuring_only {
                true => format!("{told} (for figuring only)"),
                false => told,
            })
        };
        let (old, new) = (told(before), told(after));
        if old != new {
            let what = match fact.name.starts_with("unit.") {
                true => What::Unit,
                false => What::Size,
            };
            jumps.push(Jump::new(what, &fact.name, &fact.meaning, old, new));
        }
    }
}

fn count_jumps(
    old: &BTreeMap<String, CountFeature>,
    new: &BTreeMap<String, CountFeature>,
    jumps: &mut Vec<Jump>,
) {
    let names: BTreeSet<&String> = old.keys().chain(new.keys()).collect();
    for name in names {
        let (before, after) = (old.get(name), new.get(name));
        if let Some(count) = after.or(before).filter(|_| before != after) {
            let told = |count: Option<&CountFeature>| count.map(|count| plain(count.value));
            jumps.push(Jump::new(
                What::Count,
                name,
                &count.title,
                told(before),
                told(after),
            ));
        }
    }
}

fn line_jumps(
    old: &BTreeMap<String, LineFeature>,
    new: &BTreeMap<String, LineFeature>,
    jumps: &mut Vec<Jump>,
) {
    let present = |line: &LineFeature| Some(line.bought.clone().unwrap_or_else(|| "on the bill".to_owned()));
    for (key, line) in new {
        match old.get(key) {
            None => jumps.push(Jump::new(What::Line, key, &line.description, None, present(line))),
            Some(known) if known.bought != line.bought => {
                let (before, after) = (known.bought.clone(), line.bought.clone());
                jumps.push(Jump::new(What::Packs, key, &line.description, before, after));
            }
            Some(_) => {}
        }
    }
    for (key, line) in old.iter().filter(|(key, _)| !new.contains_key(*key)) {
        jumps.push(Jump::new(What::Line, key, &line.description, present(line), None));
    }
}
