//! Where one label may stand, for its own sake: on nothing, beside what it names and nearer to it than to anything
//! else that has a name, or away from it with a leader that touches nothing else.

use super::labels::Wanted;
use super::lettering;
use super::plane::{Area, Line, Point, meet, runs_along};

/// How a text is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Form {
    /// Its lines.
    pub lines: Vec<String>,
    /// Width of the longest.
    pub width: i64,
    /// Height of all.
    pub height: i64,
}

/// A place for a label.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Spot {
    /// Which of its forms.
    pub form: usize,
    /// The place.
    pub area: Area,
    /// From there to what it names, where the place alone does not say that.
    pub leader: Option<Line>,
    /// The less of it the better.
    pub cost: i64,
}

/// What is there before any label.
#[derive(Debug, Clone, Copy)]
pub(super) struct Ground<'g> {
    /// All that has a name.
    pub wanted: &'g [Wanted],
    /// Where something stands.
    pub taken: &'g [Area],
    /// Where labels may stand.
    pub sheet: Area,
}

/// Air between a label and what it names.
const GAP: i64 = 70;
/// How much farther each round of looking for a place goes.
const RING: i64 = 130;
/// Steps along the upper and lower side, and along the other two, and the most of them on a side.
const ALONG: (i64, i64) = (350, 165);
const STEPS: i64 = 24;
/// A label farther away than this has a leader.
const NEAR: i64 = 260;
/// By how much a label without a leader is nearer to what it names than to another stroke, and to another symbol.
const NEARER: (i64, i64) = (25, 120);
/// How far a label with a leader is from another stroke, and from another symbol.
const CLEAR: (i64, i64) = (90, 150);
/// A leader shorter than this is not seen.
const SHORTEST: i64 = 200;
/// Air between a leader and another symbol.
const PAST: i64 = 60;
/// Widest text that stays in one line.
const ONE_LINE: i64 = 2_400;
/// What a second line, a leader, and each thing under a leader cost beside lengths.
const COSTS: (i64, i64, i64) = (80, 600, 250);

impl Form {
    /// A short text in one line; a longer one also in two, broken behind a comma or in its middle.
    pub fn of(text: &str) -> Vec<Self> {
        let mut forms = vec![Self::written(vec![text.to_owned()])];
        if lettering::width(text) > ONE_LINE {
            let mut breaks: Vec<(&str, &str)> = [", ", " "]
                .into_iter()
                .filter_map(|at| evenly(text, at))
                .collect();
            breaks.dedup();
            forms.extend(
                breaks
                    .into_iter()
                    .map(|(first, second)| Self::written(vec![first.to_owned(), second.to_owned()])),
            );
        }
        forms
    }

    fn written(lines: Vec<String>) -> Self {
        let width = lines.iter().map(|line| lettering::width(line)).max();
        Self {
            width: width.unwrap_or(0),
            height: lettering::LINE * i64::try_from(lines.len()).unwrap_or(1),
            lines,
        }
    }
}

/// The text in two, broken at the sign that makes the longer one shortest; a number stays beside its unit.
fn evenly<'t>(text: &'t str, sign: &str) -> Option<(&'t str, &'t str)> {
    let halves = text.match_indices(sign).filter_map(|(at, _)| {
        let (first, second) = text.split_at_checked(at + sign.len())?;
        Some((first.trim_end(), second))
    });
    let whole = halves.filter(|(first, _)| !first.ends_with(|sign: char| sign.is_ascii_digit()));
    whole.min_by_key(|(first, second)| lettering::width(first).max(lettering::width(second)))
}

impl Ground<'_> {
    /// The places of the label `at`, the best first.
    pub fn spots(&self, at: usize, forms: &[Form], reach: i64) -> Vec<Spot> {
        let Some(one) = self.wanted.get(at) else {
            return Vec::new();
        };
        let mut spots = Vec::new();
        for (form, written) in forms.iter().enumerate() {
            let lines = i64::try_from(written.lines.len()).unwrap_or(1);
            let more = COSTS.0 * (lines - 1) + i64::try_from(form).unwrap_or(0);
            let places = rings(reach).flat_map(|ring| around(&one.of, written, ring));
            let free = places.filter(|area| area.within(&self.sheet) && !self.is_taken(area));
            spots.extend(free.filter_map(|area| self.spot(at, one, area)).map(|spot| Spot {
                form,
                cost: spot.cost + more,
                ..spot
            }));
        }
        spots.sort_by_key(|spot| spot.cost);
        spots
    }

    fn is_taken(&self, area: &Area) -> bool {
        self.taken.iter().any(|other| other.meets(area))
    }

    fn others(&self, at: usize) -> impl Iterator<Item = &Wanted> {
        let all = self.wanted.iter().enumerate();
        all.filter(move |(other, _)| *other != at).map(|(_, other)| other)
    }

    /// A label at `area`; none where it would say something else.
    fn spot(&self, at: usize, one: &Wanted, area: Area) -> Option<Spot> {
        let away = area.distance(&one.of);
        let middles = (area.middle(), one.of.middle());
        let aside = (middles.0.x - middles.1.x).abs() + (middles.0.y - middles.1.y).abs();
        let spot = Spot {
            form: 0,
            area,
            leader: None,
            cost: away + aside / 10,
        };
        let by = |other: &Wanted, (stroke, symbol)| if other.stroke.is_some() { stroke } else { symbol };
        let plain = |other: &Wanted| area.distance(&other.of) >= away + by(other, NEARER);
        if away <= NEAR && self.others(at).all(plain) {
            return Some(spot);
        }
        let seen = |leader: &Line| !self.taken.iter().any(|stroke| runs_along(*leader, stroke));
        let leader = leader(&area, one).filter(|leader| away >= SHORTEST && seen(leader))?;
        let clear = |other: &Wanted| area.distance(&other.of) >= by(other, CLEAR) && !passes(leader, other);
        if !self.others(at).all(clear) {
            return None;
        }
        let over = self
            .taken
            .iter()
            .filter(|other| other.is_crossed_by(leader))
            .count();
        Some(Spot {
            leader: Some(leader),
            cost: spot.cost + away + COSTS.1 + COSTS.2 * i64::try_from(over).unwrap_or(0),
            ..spot
        })
    }
}

/// Whether a leader goes over something else than what it leads to. What lies on the latter cannot be avoided.
fn passes(leader: Line, other: &Wanted) -> bool {
    let area = other.of.wider(PAST);
    let over = match other.stroke {
        None => area.is_crossed_by(leader),
        Some(stroke) => meet(leader, stroke),
    };
    over && !area.holds(leader.1)
}

fn rings(reach: i64) -> impl Iterator<Item = i64> {
    let near = [GAP, GAP + RING];
    let far = (1..).map(|ring| GAP + RING + ring * 2 * RING);
    near.into_iter().chain(far.take_while(move |ring| *ring <= reach))
}

/// The places at `distance` from `of`: in the middle of each side, and all along them.
fn around(of: &Area, form: &Form, distance: i64) -> impl Iterator<Item = Area> {
    let (width, height) = (form.width, form.height);
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
    places.extend(along(before, behind, ALONG.0).flat_map(|left| [(left, above), (left, below)]));
    places.extend(along(above, below, ALONG.1).flat_map(|top| [(behind, top), (before, top)]));
    places.into_iter().map(move |(left, top)| Area {
        left,
        top,
        right: left + width,
        bottom: top + height,
    })
}

fn along(from: i64, to: i64, step: i64) -> impl Iterator<Item = i64> {
    let step = step.max((to - from) / STEPS);
    (0..=(to - from) / step).map(move |at| from + at * step)
}

/// From the label to the middle of a symbol, or to the place of a stroke that is nearest and is not its end. None that
/// would run along the stroke.
fn leader(area: &Area, one: &Wanted) -> Option<Line> {
    let ends = match one.stroke {
        None => vec![one.of.middle()],
        Some((from, to)) => [6, 4, 8, 2, 10]
            .map(|part| Point {
                x: from.x + (to.x - from.x) * part / 12,
                y: from.y + (to.y - from.y) * part / 12,
            })
            .to_vec(),
    };
    let leaders = ends.into_iter().map(|end| (begin(area, end), end));
    let plain = leaders.filter(|leader| one.stroke.is_none_or(|stroke| !is_flat(*leader, stroke)));
    plain.min_by_key(|(begin, end)| squared((end.x - begin.x, end.y - begin.y)))
}

/// Where a leader leaves a label: straight up or down where that leads to its end, else at the middle of a side.
fn begin(area: &Area, end: Point) -> Point {
    let nearest = area.nearest(end);
    if nearest.x == end.x {
        nearest
    } else {
        Point {
            y: area.middle().y,
            ..nearest
        }
    }
}

fn squared((x, y): (i64, i64)) -> i64 {
    x * x + y * y
}

/// Whether a leader comes to a stroke at less than 30 degrees.
fn is_flat(leader: Line, stroke: Line) -> bool {
    let way = |(from, to): Line| (to.x - from.x, to.y - from.y);
    let (one, other) = (way(leader), way(stroke));
    let across = i128::from(one.0 * other.1 - one.1 * other.0);
    4 * across * across < i128::from(squared(one)) * i128::from(squared(other))
}
