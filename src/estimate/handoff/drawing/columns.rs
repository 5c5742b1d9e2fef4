//! Numbers that find no room near what they name: two columns at the sides of the sheet, with leaders that do not cross.

use super::labels::{Label, NUMBER};
use super::plane::{Area, Line, Point, cross};

/// Air between two numbers.
const BETWEEN: i64 = 60;

/// The sheet between the columns.
pub(super) fn between(sheet: Area) -> Area {
    Area {
        left: sheet.left + NUMBER + BETWEEN,
        right: sheet.right - NUMBER - BETWEEN,
        ..sheet
    }
}

/// Whether a leader goes through another number or its leader.
pub(super) fn crosses(leader: Line, label: &Label) -> bool {
    label.area.is_crossed_by(leader) || label.leader.is_some_and(|other| cross(leader, other))
}

/// A place in a column, and where a leader leaves it.
#[derive(Debug, Clone, Copy)]
struct Slot {
    area: Area,
    gate: Point,
}

/// Numbers of what stands at `far`, each as high as what it names where there is room.
pub(super) fn columns(far: &[(usize, Area)], sheet: Area) -> Vec<(usize, Label)> {
    let mut left = far.to_vec();
    left.sort_by_key(|(at, of)| (of.middle().x, *at));
    let right = left.split_off(left.len() / 2);
    let mut all = column(left, sheet, sheet.left);
    all.extend(column(right, sheet, sheet.right - NUMBER));
    uncross(&mut all);
    let labels = all.into_iter().map(|(at, of, slot)| {
        let label = Label {
            lines: vec![(at + 1).to_string()],
            area: slot.area,
            of,
            leader: Some((slot.gate, of.middle())),
        };
        (at, label)
    });
    labels.collect()
}

fn column(mut all: Vec<(usize, Area)>, sheet: Area, left: i64) -> Vec<(usize, Area, Slot)> {
    all.sort_by_key(|(at, of)| (of.middle().y, *at));
    let step = NUMBER + BETWEEN;
    let mut free = sheet.top;
    let mut behind = i64::try_from(all.len()).unwrap_or(0);
    let placed = all.into_iter().map(|(at, of)| {
        let lowest = (sheet.bottom - behind * step).max(free);
        let top = (of.middle().y - NUMBER / 2).clamp(free, lowest);
        free = top + step;
        behind -= 1;
        let area = Area {
            left,
            top,
            right: left + NUMBER,
            bottom: top + NUMBER,
        };
        let inward = if left == sheet.left { area.right } else { area.left };
        let gate = Point {
            x: inward,
            y: area.middle().y,
        };
        (at, of, Slot { area, gate })
    });
    placed.collect()
}

/// Changes the places of two numbers whose leaders cross until none do: each change makes the two leaders together
/// shorter, so it comes to an end.
fn uncross(all: &mut [(usize, Area, Slot)]) {
    for _ in 0..all.len() * all.len() {
        let Some((one, other)) = crossing(all) else { break };
        let slots = (
            all.get(one).map(|(.., slot)| *slot),
            all.get(other).map(|(.., slot)| *slot),
        );
        if let (Some(of_one), Some(of_other)) = slots {
            if let Some((.., slot)) = all.get_mut(one) {
                *slot = of_other;
            }
            if let Some((.., slot)) = all.get_mut(other) {
                *slot = of_one;
            }
        }
    }
}

/// Two numbers whose leaders cross.
fn crossing(all: &[(usize, Area, Slot)]) -> Option<(usize, usize)> {
    let leader = |(_, of, slot): &(usize, Area, Slot)| (slot.gate, of.middle());
    let pairs = all.iter().enumerate().flat_map(|(at, one)| {
        let behind = all.iter().enumerate().skip(at + 1);
        behind.map(move |(other_at, other)| ((at, one), (other_at, other)))
    });
    let mut crossing = pairs.filter(|((_, one), (_, other))| cross(leader(one), leader(other)));
    crossing.next().map(|((one, _), (other, _))| (one, other))
}
