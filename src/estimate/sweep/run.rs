//! The points in order, worked out in stretches side by side.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};
use std::thread;

use chrono::NaiveDate;
use serde::Serialize;
use serde_json::Value;

use super::ask::{Ask, Values, Vary};
use super::breaks::{Break, Gap};
use super::features::Sizes;
use super::point::{Point, Tried, try_point};
use super::{MOST_BREAKS, MOST_NARROWING};
use crate::catalogue::Catalogue;
use crate::catalogue::prices::PriceBook;
use crate::estimate::Version;
use crate::job::Faults;
use crate::pricing::CheckedPolicy;
use crate::quantity::{Currency, Quantity};
use crate::workbook::Workbook;

/// So many points are worked out in one go.
const STRETCH: usize = 32;
/// The answer that names a class of unit: the catalogue has its title.
const CLASS: &str = "/unit/class";
/// The most threads that work on one sweep.
const MOST_THREADS: usize = 4;

/// What a sweep is made from.
#[derive(Debug, Clone, Copy)]
pub struct SweepInputs<'a> {
    /// The rulebook, compiled against the catalogue.
    pub workbook: &'a Workbook,
    /// Items, labour classes and equipment.
    pub catalogue: &'a Catalogue,
    /// The prices of the day, read out of the same catalogue.
    pub prices: &'a PriceBook,
    /// The pricing policy.
    pub policy: &'a CheckedPolicy,
    /// The policy's version.
    pub policy_version: u32,
}

/// A sweep.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sweep<'a> {
    /// The rulebook that was used.
    pub rulebook: Version<'a>,
    /// The policy that was used.
    pub policy: Version<'a>,
    /// The day whose prices were used.
    pub priced_on: NaiveDate,
    /// The currency of every amount.
    pub currency: Currency,
    /// The answers that vary.
    pub vary: Vec<VariedAnswer>,
    /// The points; of two varied answers, the second changes faster.
    pub points: Vec<Point>,
    /// Where something jumps, along the first answer and then along the second.
    pub breaks: Vec<Break>,
    /// So many breaks more were found.
    pub breaks_left_out: usize,
}

/// An answer that varies.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct VariedAnswer {
    /// JSON Pointer into the job spec.
    pub answer: String,
    /// What a person reads above it in the form.
    #[serde(skip)]
    pub title: String,
    /// What a person reads for each of its values.
    #[serde(skip)]
    pub in_words: Vec<String>,
    /// How many values it has.
    pub count: usize,
}

/// Works a sweep out.
///
/// # Errors
/// The faults of the request, when they are in the way at every point.
pub fn sweep<'a>(ask: &Ask, inputs: SweepInputs<'a>) -> Result<Sweep<'a>, Faults> {
    let stretches = stretches(ask);
    let work = Work {
        ask,
        inputs,
        sizes: Sizes::of(inputs.catalogue),
    };
    let mut made = side_by_side(&stretches, |stretch| work.stretch(stretch));
    let unread = made.iter_mut().find_map(|done| done.unread.take());
    if let Some(faults) = unread.filter(|_| made.iter().all(|done| done.all_unread)) {
        return Err(faults);
    }
    let mut differing = Vec::new();
    let mut points = Vec::new();
    for (done, stretch) in made.into_iter().zip(&stretches) {
        points.extend(done.points);
        differing.extend(done.differing.into_iter().map(|places| (stretch, places)));
    }
    let allowance = MOST_NARROWING / differing.len().max(1);
    let found = side_by_side(&differing, |(stretch, places)| {
        work.breaks(stretch, *places, allowance)
    });
    let mut breaks: Vec<Break> = found.into_iter().flatten().collect();
    let breaks_left_out = breaks.len().saturating_sub(MOST_BREAKS);
    breaks.truncate(MOST_BREAKS);
    let answers = ask.vary.iter().map(|vary| varied(inputs, vary));
    Ok(Sweep {
        rulebook: inputs.workbook.version(),
        policy: Version {
            id: &inputs.policy.policy().id,
            version: inputs.policy_version,
        },
        priced_on: inputs.prices.day(),
        currency: inputs.policy.currency(),
        vary: answers.collect(),
        points,
        breaks,
        breaks_left_out,
    })
}

/// Some neighbours along one answer.
struct Stretch<'a> {
    along: &'a Vary,
    /// The other answer and the place of its value.
    other: Option<(&'a Vary, usize)>,
    /// Whether the other answer comes before.
    other_first: bool,
    /// Places from the first to the last; the last is the first of the next stretch as well, where there is one.
    places: std::ops::RangeInclusive<usize>,
    /// How many of them are told as points.
    told: usize,
}

/// The stretches along the first of two answers, for breaks only, and those along the last one.
fn stretches(ask: &Ask) -> Vec<Stretch<'_>> {
    let mut all = Vec::new();
    match ask.vary.as_slice() {
        [only] => stretch(only, None, true, &mut all),
        [first, second] => {
            if ask.breaks && matches!(first.values, Values::Numbers { .. }) {
                for place in 0..second.values.count() {
                    stretch(first, Some((second, place)), false, &mut all);
                }
            }
            for place in 0..first.values.count() {
                stretch(second, Some((first, place)), true, &mut all);
            }
        }
        _ => {}
    }
    all
}

fn stretch<'a>(along: &'a Vary, other: Option<(&'a Vary, usize)>, told: bool, all: &mut Vec<Stretch<'a>>) {
    let count = along.values.count();
    for start in (0..count).step_by(STRETCH) {
        let end = (start + STRETCH).min(count);
        all.push(Stretch {
            along,
            other,
            other_first: told,
            places: start..=end.min(count - 1),
            told: if told { end - start } else { 0 },
        });
    }
}

struct Work<'a> {
    ask: &'a Ask,
    inputs: SweepInputs<'a>,
    sizes: Sizes,
}

/// What came of a stretch.
#[derive(Default)]
struct Done {
    points: Vec<Point>,
    /// The places of neighbours between which something jumps.
    differing: Vec<(usize, usize)>,
    all_unread: bool,
    unread: Option<Faults>,
}

/// Each part worked out, in order, whichever thread took it.
fn side_by_side<P: Sync, D: Send>(parts: &[P], work: impl Fn(&P) -> D + Sync) -> Vec<D> {
    let next = AtomicUsize::new(0);
    let made: Mutex<Vec<(usize, D)>> = Mutex::new(Vec::with_capacity(parts.len()));
    let threads = thread::available_parallelism().map_or(1, usize::from);
    thread::scope(|scope| {
        for _ in 0..threads.min(MOST_THREADS).min(parts.len()) {
            scope.spawn(|| {
                loop {
                    let place = next.fetch_add(1, Ordering::Relaxed);
                    let Some(part) = parts.get(place) else {
                        break;
                    };
                    let done = work(part);
                    made.lock()
                        .unwrap_or_else(PoisonError::into_inner)
                        .push((place, done));
                }
            });
        }
    });
    let mut made = made.into_inner().unwrap_or_else(PoisonError::into_inner);
    made.sort_by_key(|(place, _)| *place);
    made.into_iter().map(|(_, done)| done).collect()
}

/// The value of the answer along which a stretch goes, and that of the other one.
fn set<'s>(stretch: &Stretch<'s>, value: Value) -> Vec<(&'s str, Value)> {
    let mut set = vec![(stretch.along.answer.as_str(), value)];
    let other = stretch
        .other
        .map(|(vary, place)| (vary, vary.values.answer(place)));
    set.extend(other.map(|(vary, value)| (vary.answer.as_str(), value)));
    set
}

impl Work<'_> {
    fn tried(&self, stretch: &Stretch<'_>, value: Value) -> Tried {
        try_point(&self.inputs, &self.sizes, &self.ask.request, &set(stretch, value))
    }

    fn stretch(&self, stretch: &Stretch<'_>) -> Done {
        let breaks = self.ask.breaks && matches!(stretch.along.values, Values::Numbers { .. });
        let mut done = Done {
            all_unread: true,
            ..Done::default()
        };
        let mut before: Option<(usize, Tried)> = None;
        for place in stretch.places.clone() {
            let value = stretch.along.values.answer(place);
            let mut tried = self.tried(stretch, value.clone());
            done.all_unread &= tried.unread.is_some();
            done.unread = done.unread.or(tried.unread.take());
            if let Some((last, before)) = &before
                && breaks
                && before.features != tried.features
            {
                done.differing.push((*last, place));
            }
            if done.points.len() < stretch.told {
                let mut answers: Vec<Value> =
                    set(stretch, value).into_iter().map(|(_, value)| value).collect();
                if stretch.other_first {
                    answers.reverse();
                }
                done.points.push(Point {
                    at: answers,
                    outcome: tried.outcome.clone(),
                });
            }
            before = Some((place, tried));
        }
        done
    }

    /// The breaks between two neighbours of a stretch, by so many estimates at the most.
    fn breaks(&self, stretch: &Stretch<'_>, (low, high): (usize, usize), allowance: usize) -> Vec<Break> {
        let Values::Numbers {
            sort,
            list,
            resolution,
        } = &stretch.along.values
        else {
            return Vec::new();
        };
        let (Some(from), Some(to)) = (list.get(low), list.get(high)) else {
            return Vec::new();
        };
        let other = stretch.other.map(|(vary, place)| vary.values.answer(place));
        let gap = Gap {
            answer: &stretch.along.answer,
            other: other.as_ref(),
            sort: *sort,
            resolution: *resolution,
            sizes: &self.sizes,
            allowance,
        };
        let make = |value| self.tried(stretch, sort.answer(value));
        gap.breaks((*from, &make(*from)), (*to, &make(*to)), make)
    }
}

fn varied(inputs: SweepInputs<'_>, vary: &Vary) -> VariedAnswer {
    let titled = inputs.workbook.form().titled(&vary.answer);
    let in_words = |value: &Value| {
        let unit = (vary.answer == CLASS)
            .then(|| inputs.catalogue.equipment_class(value.as_str()?))
            .flatten();
        match (unit, titled) {
            (Some(unit), _) => unit.title.clone(),
            (None, Some((_, shape))) => {
                let money = Quantity::money_in_words(value, inputs.policy.currency());
                money.unwrap_or_else(|| shape.in_words(value))
            }
            (None, None) => value.to_string(),
        }
    };
    let values = (0..vary.values.count()).map(|place| vary.values.answer(place));
    VariedAnswer {
        title: titled.map_or(vary.answer.as_str(), |(title, _)| title).to_owned(),
        in_words: values.map(|value| in_words(&value)).collect(),
        answer: vary.answer.clone(),
        count: vary.values.count(),
    }
}
