//! Where labels go: beside what they name and nearer to it than to anything else that has a name, or away from it
//! with a leader that crosses no other label. Where one finds no such place, all become numbers and the sheet has a
//! key under it.

use super::lettering;
use super::plane::{Area, Point};

/// A text that names something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Wanted {
    /// The text.
    pub text: String,
    /// What it names: the label stands beside this rectangle.
    pub of: Area,
    /// Whether a leader to something else may not go through it: a symbol, not a leg.
    pub solid: bool,
}

/// A label in its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// The text.
    pub text: String,
    /// Where it stands.
    pub area: Area,
    /// What it names.
    pub of: Area,
    /// From the label to what it names, where that is not plain.
    pub leader: Option<(Point, Point)>,
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

/// Air between a label and what it names.
const GAP: i64 = 70;
/// Air between two labels on one line.
const BESIDE: i64 = 200;
/// How much farther each round of looking for a place goes.
const RING: i64 = 130;
/// Rounds for a text: a leader of 40 mm is the longest.
const RINGS: i64 = 30;
/// Rounds for a number, which has another place.
const NUMBER_RINGS: i64 = 6;
/// Steps along the upper and lower side, and along the other two.
const ALONG: (i64, i64) = (350, 165);
/// A label farther away than this has a leader.
const NEAR: i64 = 260;
/// By how much a label without a leader is nearer to what it names than to another leg, and to another symbol.
const NEARER: (i64, i64) = (25, 120);
/// A leader shorter than this is not seen.
const SHORTEST: i64 = 200;
/// Side of a number's circle.
pub(super) const NUMBER: i64 = 400;
/// Air between two numbers in a column.
const BETWEEN: i64 = 60;

/// Places the labels. `taken` is where something stands already, all of it at least [`NUMBER`] away from the sides of
/// the sheet.
pub(super) fn place(wanted: &[Wanted], taken: &[Area], sheet: Area) -> Placed {
    let size = |one: &Wanted| (lettering::width(&one.text), lettering::LINE);
    let texts = beside(wanted, taken, sheet, RINGS, size);
    if let Some(labels) = texts.into_iter().collect::<Option<Vec<Label>>>() {
        let bottom = labels.iter().map(|label| label.area.bottom).max();
        return Placed {
            labels,
            key: Vec::new(),
            bottom: bottom.unwrap_or(sheet.top),
        };
    }
    let labels = numbers(wanted, taken, sheet);
    let under = labels.iter().map(|label| label.area.bottom).max();
    let under = under
        .into_iter()
        .chain(taken.iter().map(|area| area.bottom))
        .max();
    let (key, bottom) = key(wanted, sheet, under.unwrap_or(sheet.top) + 2 * BETWEEN);
    Placed { labels, key, bottom }
}

/// Each label in the first place that is free and plain; none where there is none within so many rounds.
fn beside(
    wanted: &[Wanted],
    taken: &[Area],
    sheet: Area,
    rings: i64,
    size: impl Fn(&Wanted) -> (i64, i64),
) -> Vec<Option<Label>> {
    let mut labels: Vec<Option<Label>> = Vec::with_capacity(wanted.len());
    for (at, one) in wanted.iter().enumerate() {
        let set: Vec<&Label> = labels.iter().flatten().collect();
        let found = (0..rings)
            .flat_map(|ring| around(&one.of, size(one), GAP + ring * RING))
            .filter(|area| area.within(&sheet) && !taken.iter().any(|other| other.meets(area)))
            .filter(|area| !set.iter().any(|label| on(label, area)))
            .find_map(|area| joined(area, at, wanted, &set));
        labels.push(found);
    }
    labels
}

/// Whether a label or its leader is where another wants to stand.
fn on(label: &Label, area: &Area) -> bool {
    let with_air = Area {
        left: label.area.left - BESIDE,
        right: label.area.right + BESIDE,
        ..label.area
    };
    with_air.meets(area) || label.leader.is_some_and(|leader| crosses(leader, area))
}

/// The label at `area`, with a leader where its place alone does not say what it names; none where a leader would go
/// through another label or symbol.
fn joined(area: Area, at: usize, wanted: &[Wanted], set: &[&Label]) -> Option<Label> {
    let one = wanted.get(at)?;
    let away = area.distance(&one.of);
    let others = || wanted.iter().enumerate().filter(|(other, _)| *other != at);
    let nearer = |other: &Wanted| if other.solid { NEARER.1 } else { NEARER.0 };
    let plain = others().all(|(_, other)| area.distance(&other.of) >= away + nearer(other));
    let leader = if plain && away <= NEAR {
        None
    } else {
        let leader = leader(&area, &one.of);
        let through = |other: &Wanted| other.solid && !other.of.meets(&one.of) && crosses(leader, &other.of);
        let shut = away < SHORTEST
            || set.iter().any(|label| crosses(leader, &label.area))
            || others().any(|(_, other)| through(other));
        if shut {
            return None;
        }
        Some(leader)
    };
    Some(Label {
        text: one.text.clone(),
        area,
        of: one.of,
        leader,
    })
}

/// A number for each label, near what it names where that is plain, else in a column at a side of the sheet. Leaders
/// from a column leave it at once, so they can cross only numbers that stand near: those go to the columns too.
fn numbers(wanted: &[Wanted], taken: &[Area], sheet: Area) -> Vec<Label> {
    let numbered = wanted.iter().enumerate().map(|(at, one)| Wanted {
        text: (at + 1).to_string(),
        ..one.clone()
    });
    let numbered: Vec<Wanted> = numbered.collect();
    let inner = Area {
        left: sheet.left + NUMBER + BETWEEN,
        right: sheet.right - NUMBER - BETWEEN,
        ..sheet
    };
    let mut near = beside(&numbered, taken, inner, NUMBER_RINGS, |_| (NUMBER, NUMBER));
    loop {
        let far = near.iter().zip(&numbered).enumerate();
        let far: Vec<(usize, &Wanted)> = far
            .filter(|(_, (label, _))| label.is_none())
            .map(|(at, (_, one))| (at, one))
            .collect();
        let columns = columns(far, sheet);
        let crossed = |label: &Label| {
            let mut leaders = columns.iter().filter_map(|(_, label)| label.leader);
            leaders.any(|leader| crosses(leader, &label.area))
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

/// Numbers in two columns at the sides of the sheet, each as high as what it names where there is room.
fn columns(mut far: Vec<(usize, &Wanted)>, sheet: Area) -> Vec<(usize, Label)> {
    far.sort_by_key(|(at, one)| (one.of.middle().x, *at));
    let right = far.split_off(far.len() / 2);
    let sides = [(far, sheet.left), (right, sheet.right - NUMBER)];
    let mut labels = Vec::new();
    for (mut side, left) in sides {
        side.sort_by_key(|(at, one)| (one.of.middle().y, *at));
        let count = i64::try_from(side.len()).unwrap_or(0);
        let step = NUMBER + BETWEEN;
        let mut free = sheet.top;
        for (place, (at, one)) in side.into_iter().enumerate() {
            let behind = count - i64::try_from(place).unwrap_or(0);
            let lowest = (sheet.bottom - behind * step).max(free);
            let top = (one.of.middle().y - NUMBER / 2).clamp(free, lowest);
            free = top + step;
            let area = Area {
                left,
                top,
                right: left + NUMBER,
                bottom: top + NUMBER,
            };
            let label = Label {
                text: one.text.clone(),
                area,
                of: one.of,
                leader: Some(leader(&area, &one.of)),
            };
            labels.push((at, label));
        }
    }
    labels
}

/// The texts under the sheet in columns of one width, read downward.
fn key(wanted: &[Wanted], sheet: Area, top: i64) -> (Vec<Entry>, i64) {
    let widest = wanted.iter().map(|one| lettering::width(&one.text)).max();
    let before = 3 * GAP + lettering::width("00");
    let wide = before + widest.unwrap_or(0) + 6 * GAP;
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

/// The places at `distance` from `of`: the plain ones first, then all along its sides.
fn around(of: &Area, (width, height): (i64, i64), distance: i64) -> impl Iterator<Item = Area> {
    let centred = (
        (of.left + of.right - width) / 2,
        (of.top + of.bottom - height) / 2,
    );
    let (above, below) = (of.top - distance - height, of.bottom + distance);
    let (before, behind) = (of.left - distance - width, of.right + distance);
    let mut places = vec![
        (centred.0, above),
        (centred.0, below),
        (behind, centred.1),
        (before, centred.1),
    ];
    let upright = of.bottom - of.top > of.right - of.left;
    if upright {
        places.rotate_left(2);
    }
    let along = |from: i64, to: i64, step: i64| (0..=(to - from) / step).map(move |at| from + at * step);
    places.extend(along(before, behind, ALONG.0).flat_map(|left| [(left, above), (left, below)]));
    places.extend(along(above, below, ALONG.1).flat_map(|top| [(behind, top), (before, top)]));
    places.into_iter().map(move |(left, top)| Area {
        left,
        top,
        right: left + width,
        bottom: top + height,
    })
}

/// From the label to the middle of what it names.
fn leader(area: &Area, of: &Area) -> (Point, Point) {
    let middle = of.middle();
    (area.nearest(middle), middle)
}

/// Whether a line goes through a rectangle: their bounds overlap, and corners lie on both sides of the line.
fn crosses((from, to): (Point, Point), area: &Area) -> bool {
    let side = |(x, y): (i64, i64)| (to.x - from.x) * (y - from.y) - (to.y - from.y) * (x - from.x);
    let corners = [
        (area.left, area.top),
        (area.right, area.top),
        (area.left, area.bottom),
        (area.right, area.bottom),
    ];
    let sides = corners.map(side);
    Area::between(from, to, 0).meets(area)
        && sides.iter().any(|side| *side > 0)
        && sides.iter().any(|side| *side < 0)
}
