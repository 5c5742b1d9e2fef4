//! What of an estimate jumps: units, sizes, packs, lines and stops.

use super::breaks::{Jump, What};
use crate::bill::line::{BillLine, Content, Goods};
use crate::catalogue::Catalogue;
use crate::estimate::Estimate;
use crate::quantity::decimal::plain;
use crate::quantity::fact::{FactDef, FactKind, FactValue};
use crate::rules::outcome::Level;
use crate::sizing::facts::{definitions, values};
use std::collections::BTreeMap;

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
    Priced {
        sizes: Vec<FactValue>,
        /// Of each line its words and what is bought, by its key.
        lines: BTreeMap<String, LineFeature>,
        stops: Vec<String>,
    },
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
    let unit = goods.unit;
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
        Self::Priced {
            sizes: sizes
                .facts
                .iter()
                .filter_map(|(place, _)| all.get(*place).copied())
                .collect(),
            lines: lines
                .map(|line| (line.bill.key.to_string(), LineFeature::of(&line.bill)))
                .collect(),
            stops,
        }
    }

    /// What jumps from these to `after`; nothing when they are the same.
    pub(super) fn jumps(&self, after: &Self, sizes: &Sizes) -> Vec<Jump> {
        let whole = |name: &str| Some(name.to_owned());
        let (before, after) = match (self, after) {
            (Self::Faulty, Self::Faulty) => return Vec::new(),
            (Self::Faulty, Self::Priced { .. }) => {
                return vec![Jump::new(
                    What::Estimate,
                    "estimate",
                    "",
                    None,
                    whole("can be made"),
                )];
            }
            (Self::Priced { .. }, Self::Faulty) => {
                return vec![Jump::new(
                    What::Estimate,
                    "estimate",
                    "",
                    whole("can be made"),
                    None,
                )];
            }
            (before, after) => (before, after),
        };
        let mut jumps = Vec::new();
        let (
            Self::Priced {
                sizes: old,
                lines: old_lines,
                stops: old_stops,
            },
            Self::Priced {
                sizes: new,
                lines: new_lines,
                stops: new_stops,
            },
        ) = (before, after)
        else {
            return jumps;
        };
        for (place, (old, new)) in old.iter().zip(new).enumerate() {
            if old != new
                && let Some((_, fact)) = sizes.facts.get(place)
            {
                let what = if fact.name.starts_with("unit.") {
                    What::Unit
                } else {
                    What::Size
                };
                let (old, new) = (sizes.told(place, *old), sizes.told(place, *new));
                jumps.push(Jump::new(what, &fact.name, &fact.meaning, Some(old), Some(new)));
            }
        }
        line_jumps(old_lines, new_lines, &mut jumps);
        let stop = |code: &str, before: bool| {
            let stands = |here: bool| here.then(|| "stands".to_owned());
            Jump::new(What::Stop, code, "", stands(before), stands(!before))
        };
        let gone = old_stops.iter().filter(|code| !new_stops.contains(code));
        jumps.extend(gone.map(|code| stop(code, true)));
        let come = new_stops.iter().filter(|code| !old_stops.contains(code));
        jumps.extend(come.map(|code| stop(code, false)));
        jumps
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
