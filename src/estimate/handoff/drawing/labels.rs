//! Where labels go: near what they name, on no line, no thing and no other label, with a leader where they had to
//! go away.

use super::lettering;

/// A place on paper, hundredths of a mm, y downward.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Point {
    pub x: i64,
    pub y: i64,
}

/// A rectangle on paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Area {
    pub left: i64,
    pub top: i64,
    pub right: i64,
    pub bottom: i64,
}

impl Area {
    /// The rectangle between two points, `air` wider on every side.
    pub fn between(one: Point, other: Point, air: i64) -> Self {
        Self {
            left: one.x.min(other.x) - air,
            top: one.y.min(other.y) - air,
            right: one.x.max(other.x) + air,
            bottom: one.y.max(other.y) + air,
        }
    }

    /// Whether two rectangles have a place in common.
    pub fn meets(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    fn within(&self, other: &Self) -> bool {
        self.left >= other.left
            && self.right <= other.right
            && self.top >= other.top
            && self.bottom <= other.bottom
    }

    /// The point of the rectangle that is nearest to `point`.
    fn nearest(&self, point: Point) -> Point {
        Point {
            x: point.x.clamp(self.left, self.right),
            y: point.y.clamp(self.top, self.bottom),
        }
    }
}

/// A text that names something.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wanted {
    /// The text.
    pub text: String,
    /// What it names: the label stands beside this rectangle.
    pub of: Area,
}

/// A label in its place.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// The text.
    pub text: String,
    /// Where it stands.
    pub area: Area,
    /// From the label to what it names, where that is not plain.
    pub leader: Option<(Point, Point)>,
}

/// Air between a label and what it names.
const GAP: i64 = 70;
/// How much farther each round of looking for a place goes.
const RING: i64 = 130;
/// Rounds; the last is farther than the sheet is wide.
const RINGS: i64 = 140;
/// Steps along the upper and lower side, and along the other two.
const ALONG: (i64, i64) = (350, 165);
/// A label farther away than this has a leader.
const NEAR: i64 = 260;

/// Places the labels in their order. `taken` is where something stands already. Labels that find no place on the
/// sheet stand in rows under it; the sheet's lower edge comes back as far down as they need.
pub fn place(wanted: Vec<Wanted>, mut taken: Vec<Area>, sheet: Area) -> (Vec<Label>, i64) {
    let mut labels: Vec<Label> = Vec::with_capacity(wanted.len());
    let mut lower = sheet.bottom;
    for one in wanted {
        let size = (lettering::width(&one.text), lettering::LINE);
        let free = |area: &Area, leader: Option<(Point, Point)>| {
            area.within(&sheet)
                && !taken.iter().any(|other| other.meets(area))
                && leader.is_none_or(|leader| !labels.iter().any(|label| crosses(leader, &label.area)))
                && !labels
                    .iter()
                    .filter_map(|label| label.leader)
                    .any(|leader| crosses(leader, area))
        };
        let found = (0..RINGS)
            .flat_map(|ring| around(&one.of, size, GAP + ring * RING))
            .map(|area| (area, leader(&area, &one.of)))
            .find(|(area, leader)| free(area, *leader));
        let (area, leader) = found.unwrap_or_else(|| {
            let area = Area {
                left: sheet.left,
                top: lower,
                right: sheet.left + size.0,
                bottom: lower + size.1,
            };
            lower += size.1;
            (area, leader(&area, &one.of))
        });
        taken.push(Area {
            left: area.left - GAP,
            right: area.right + GAP,
            ..area
        });
        labels.push(Label {
            text: one.text,
            area,
            leader,
        });
    }
    (labels, lower)
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

/// From the label to the middle of what it names, where the two are apart.
fn leader(area: &Area, of: &Area) -> Option<(Point, Point)> {
    let middle = Point {
        x: (of.left + of.right) / 2,
        y: (of.top + of.bottom) / 2,
    };
    let from = area.nearest(middle);
    let to = of.nearest(from);
    let far = (from.x - to.x).abs().max((from.y - to.y).abs()) > NEAR;
    far.then_some((from, to))
}

/// Whether a line goes through a rectangle: looked at in steps that no label is smaller than.
fn crosses((from, to): (Point, Point), area: &Area) -> bool {
    const STEPS: i64 = 64;
    (0..=STEPS).any(|step| {
        let x = from.x + (to.x - from.x) * step / STEPS;
        let y = from.y + (to.y - from.y) * step / STEPS;
        x > area.left && x < area.right && y > area.top && y < area.bottom
    })
}
