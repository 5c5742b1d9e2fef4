//! Labels: texts beside what they name where each finds a place that is plainly its own, else numbers with a key.

use super::columns;
use super::lettering;
use super::plane::{Area, Line};
use super::settle::settle;
use super::spots::{Form, Ground, Spot};

/// A text that names something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Wanted {
    /// The text.
    pub text: String,
    /// What it names: the label stands beside this rectangle.
    pub of: Area,
    /// The stroke that it names; none where it names a symbol.
    pub stroke: Option<Line>,
}

/// A label in its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// The text, in one line or two; or its number in the key.
    pub lines: Vec<String>,
    /// Where it stands.
    pub area: Area,
    /// What it names.
    pub of: Area,
    /// From the label to what it names, where its place alone does not say that.
    pub leader: Option<Line>,
}

/// A number's text in the key.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Entry {
    /// Where the number stands.
    pub number: Area,
    /// What it stands for.
    pub text: String,
    /// Where that stands.
    pub area: Area,
}

/// All labels in their places.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Placed {
    /// The labels, in the order in which they were wanted: texts, or numbers where there is a key.
    pub labels: Vec<Label>,
    /// What each number stands for; nothing where the labels are texts.
    pub key: Vec<Entry>,
    /// Lower edge of labels and key.
    pub bottom: i64,
}

/// Air between figure, key and its columns.
const AIR: i64 = 120;
/// How far from what it names a text may stand, and a number.
const REACH: (i64, i64) = (1_500, 900);
/// More labels than this are numbers at once.
const MOST_TEXTS: usize = 24;
/// Side of a number's circle.
pub(super) const NUMBER: i64 = 400;

impl Label {
    /// Its lines, each with where it stands: toward what it names.
    pub(super) fn written(&self) -> impl Iterator<Item = (Area, &str)> {
        (0..).zip(&self.lines).map(|(at, line)| {
            let free = self.area.right - self.area.left - lettering::width(line);
            let before = if self.area.right <= self.of.left {
                free
            } else if self.area.left >= self.of.right {
                0
            } else {
                free / 2
            };
            let (left, top) = (self.area.left + before, self.area.top + at * lettering::LINE);
            let area = Area {
                left,
                top,
                right: left + lettering::width(line),
                bottom: top + lettering::LINE,
            };
            (area, line.as_str())
        })
    }
}

/// Places the labels. `taken` is where something stands already, all of it at least [`NUMBER`] away from the sides of
/// the sheet.
pub(super) fn place(wanted: &[Wanted], taken: &[Area], sheet: Area) -> Placed {
    let ground = Ground { wanted, taken, sheet };
    if wanted.len() <= MOST_TEXTS {
        let forms: Vec<Vec<Form>> = wanted.iter().map(|one| Form::of(&one.text)).collect();
        if let Some(labels) = beside(&ground, &forms, REACH.0)
            .into_iter()
            .collect::<Option<Vec<_>>>()
        {
            let bottom = labels.iter().map(|label| label.area.bottom).max();
            return Placed {
                bottom: bottom.unwrap_or(sheet.top),
                labels,
                key: Vec::new(),
            };
        }
    }
    let labels = numbers(&ground);
    let lowest = labels.iter().map(|label| &label.area).chain(taken);
    let under = lowest.map(|area| area.bottom).max().unwrap_or(sheet.top);
    let (key, bottom) = key(wanted, sheet, under + AIR);
    Placed { labels, key, bottom }
}

/// Each label beside what it names; none where it found no place of its own.
fn beside(ground: &Ground<'_>, forms: &[Vec<Form>], reach: i64) -> Vec<Option<Label>> {
    let spots = forms
        .iter()
        .enumerate()
        .map(|(at, forms)| ground.spots(at, forms, reach));
    let spots: Vec<Vec<Spot>> = spots.collect();
    let chosen = settle(&spots).into_iter();
    let all = chosen.zip(&spots).zip(forms).zip(ground.wanted);
    all.map(|(((chosen, spots), forms), one)| {
        let spot = spots.get(chosen?)?;
        Some(Label {
            lines: forms.get(spot.form)?.lines.clone(),
            area: spot.area,
            of: one.of,
            leader: spot.leader,
        })
    })
    .collect()
}

/// A number for each label, near what it names where there is room, else in a column at a side of the sheet.
fn numbers(ground: &Ground<'_>) -> Vec<Label> {
    let inner = Ground {
        sheet: columns::between(ground.sheet),
        ..*ground
    };
    let number = |at: usize| Form {
        lines: vec![(at + 1).to_string()],
        width: NUMBER,
        height: NUMBER,
    };
    let forms: Vec<Vec<Form>> = (0..ground.wanted.len()).map(|at| vec![number(at)]).collect();
    let mut near = beside(&inner, &forms, REACH.1);
    loop {
        let far = near.iter().zip(ground.wanted).enumerate();
        let far = far.filter(|(_, (label, _))| label.is_none());
        let far: Vec<(usize, Area)> = far.map(|(at, (_, one))| (at, one.of)).collect();
        let columns = columns::columns(&far, ground.sheet);
        let crossed = |label: &Label| {
            let mut leaders = columns.iter().filter_map(|(_, label)| label.leader);
            leaders.any(|leader| columns::crosses(leader, label))
        };
        match near.iter_mut().find(|label| label.as_ref().is_some_and(crossed)) {
            Some(label) => *label = None,
            None => {
                let near = near.into_iter().enumerate();
                let near = near.filter_map(|(at, label)| Some((at, label?)));
                let mut all: Vec<(usize, Label)> = near.chain(columns).collect();
                all.sort_by_key(|(at, _)| *at);
                return all.into_iter().map(|(_, label)| label).collect();
            }
        }
    }
}

/// The texts under the sheet in columns of one width, read downward.
fn key(wanted: &[Wanted], sheet: Area, top: i64) -> (Vec<Entry>, i64) {
    let widest = wanted.iter().map(|one| lettering::width(&one.text)).max();
    let before = 2 * AIR + lettering::width("00");
    let wide = before + widest.unwrap_or(0) + 4 * AIR;
    let columns = ((sheet.right - sheet.left) / wide).max(1);
    let count = i64::try_from(wanted.len()).unwrap_or(0);
    let rows = (count + columns - 1) / columns;
    let entry = |(at, one): (i64, &Wanted)| {
        let (left, top) = (sheet.left + at / rows * wide, top + at % rows * lettering::LINE);
        let bottom = top + lettering::LINE;
        let number = Area {
            left,
            top,
            right: left + before,
            bottom,
        };
        Entry {
            number,
            text: one.text.clone(),
            area: Area {
                left: left + before,
                right: left + before + lettering::width(&one.text),
                ..number
            },
        }
    };
    let entries = (0..).zip(wanted).map(entry).collect();
    (entries, top + rows * lettering::LINE)
}
