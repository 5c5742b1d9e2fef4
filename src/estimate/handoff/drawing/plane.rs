//! Places and rectangles on paper.

/// A place on paper, hundredths of a mm, y downward.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Point {
    /// To the right.
    pub x: i64,
    /// Downward.
    pub y: i64,
}

/// A rectangle on paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Area {
    /// Left side.
    pub left: i64,
    /// Upper side.
    pub top: i64,
    /// Right side.
    pub right: i64,
    /// Lower side.
    pub bottom: i64,
}

/// The room of a stroke is not thicker than this.
const THICKEST: i64 = 100;
/// How closely a line is looked at, and how many such steps a millimetre has.
const STEP: i64 = 20;
const STEPS_OF_A_MILLIMETRE: usize = 5;

/// A straight line from place to place.
pub type Line = (Point, Point);

impl Point {
    /// Moved upward.
    pub fn raised(self, by: i64) -> Self {
        Self {
            y: self.y - by,
            ..self
        }
    }
}

/// A line without its first `by`, where it is longer than that.
pub fn shortened((from, to): Line, by: i64) -> Line {
    let way = (to.x - from.x, to.y - from.y);
    let length = (way.0 * way.0 + way.1 * way.1).isqrt();
    if length <= by {
        return (from, to);
    }
    let begin = Point {
        x: from.x + way.0 * by / length,
        y: from.y + way.1 * by / length,
    };
    (begin, to)
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

    /// The rectangle around a point, `half` to each side.
    pub fn around(point: Point, half: i64) -> Self {
        Self::between(point, point, half)
    }

    /// The rectangle around both.
    pub fn and(&self, other: &Self) -> Self {
        Self {
            left: self.left.min(other.left),
            top: self.top.min(other.top),
            right: self.right.max(other.right),
            bottom: self.bottom.max(other.bottom),
        }
    }

    /// Whether two rectangles have a place in common.
    pub fn meets(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    /// Whether it lies in another.
    pub fn within(&self, other: &Self) -> bool {
        self.left >= other.left
            && self.right <= other.right
            && self.top >= other.top
            && self.bottom <= other.bottom
    }

    /// Its middle.
    pub fn middle(&self) -> Point {
        Point {
            x: (self.left + self.right) / 2,
            y: (self.top + self.bottom) / 2,
        }
    }

    /// The point of the rectangle that is nearest to `point`.
    pub fn nearest(&self, point: Point) -> Point {
        Point {
            x: point.x.clamp(self.left, self.right),
            y: point.y.clamp(self.top, self.bottom),
        }
    }

    /// How far two rectangles are apart.
    pub fn distance(&self, other: &Self) -> i64 {
        let x = (other.left - self.right).max(self.left - other.right).max(0);
        let y = (other.top - self.bottom).max(self.top - other.bottom).max(0);
        (x * x + y * y).isqrt()
    }

    /// Whether a point lies in it or on its side.
    pub fn holds(&self, point: Point) -> bool {
        self.nearest(point) == point
    }

    /// Wider on every side.
    pub fn wider(&self, by: i64) -> Self {
        Self {
            left: self.left - by,
            top: self.top - by,
            right: self.right + by,
            bottom: self.bottom + by,
        }
    }

    /// Whether a line goes through it: their bounds overlap, and corners lie on both sides of the line.
    pub fn is_crossed_by(&self, line: Line) -> bool {
        let corners = [
            (self.left, self.top),
            (self.right, self.top),
            (self.left, self.bottom),
            (self.right, self.bottom),
        ];
        let sides = corners.map(|(x, y)| side(line, Point { x, y }));
        Self::between(line.0, line.1, 0).meets(self) && sides.contains(&1) && sides.contains(&-1)
    }

    /// Moved upward.
    pub fn raised(self, by: i64) -> Self {
        Self {
            top: self.top - by,
            bottom: self.bottom - by,
            ..self
        }
    }
}

/// Whether a line runs along a stroke that fills `area`, or hides in it: at less than 30 degrees to it, and for more than a
/// millimetre.
pub fn runs_along(line: Line, area: &Area) -> bool {
    let (wide, high) = (area.right - area.left, area.bottom - area.top);
    if wide.min(high) > THICKEST || !Area::between(line.0, line.1, 1).meets(area) {
        return false;
    }
    let way = (line.1.x - line.0.x, line.1.y - line.0.y);
    let (along, across) = if wide >= high { way } else { (way.1, way.0) };
    let steps = along.abs() / STEP;
    let at = |step: i64| Point {
        x: line.0.x + way.0 * step / steps.max(1),
        y: line.0.y + way.1 * step / steps.max(1),
    };
    let inside = (0..=steps).filter(|step| area.holds(at(*step))).count();
    // The tangent of 30 degrees is 0.577.
    across.abs() * 1_000 < along.abs() * 577 && inside > STEPS_OF_A_MILLIMETRE
}

/// On which side of a line a point lies: -1 or 1, 0 on it.
fn side((from, to): Line, point: Point) -> i64 {
    ((to.x - from.x) * (point.y - from.y) - (to.y - from.y) * (point.x - from.x)).signum()
}

/// Whether two leaders cross: those that lead to one place meet there and do not.
pub fn cross(one: Line, other: Line) -> bool {
    one.1 != other.1 && meet(one, other)
}

/// Whether two lines have a place in common.
pub fn meet(one: Line, other: Line) -> bool {
    let ends = [side(one, other.0), side(one, other.1)];
    let own_ends = [side(other, one.0), side(other, one.1)];
    let apart = |sides: [i64; 2]| sides == [1, 1] || sides == [-1, -1];
    let bounds = |line: Line| Area::between(line.0, line.1, 1);
    !apart(ends) && !apart(own_ends) && bounds(one).meets(&bounds(other))
}
