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

impl Point {
    /// Moved upward.
    pub fn raised(self, by: i64) -> Self {
        Self {
            y: self.y - by,
            ..self
        }
    }
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

    /// Moved upward.
    pub fn raised(self, by: i64) -> Self {
        Self {
            top: self.top - by,
            bottom: self.bottom - by,
            ..self
        }
    }
}
