//! Tables that are interpolated over one key.

use super::HOLES_TOLD;
use super::grid::places;
use super::reader::Reader;
use crate::rules::formula::Flaw;
use crate::rules::program::{Curve, Kind, Point};
use crate::rules::rulebook::Matching;
use rust_decimal::Decimal;

impl Reader<'_> {
    /// Points for each combination of the other keys.
    pub(super) fn curve(&mut self, values: Option<&[Decimal]>) -> Option<Curve> {
        let at = self.head.curve?;
        let table = self.table;
        let (key, clamp) = match table.keys.get(at) {
            Some(key) => (
                key.name.shared(),
                matches!(key.matching, Matching::Interpolate { clamp: true, .. }),
            ),
            None => return None,
        };
        let Some(Kind::Number(unit)) = self.head.keys.get(at).map(|(_, kind)| *kind) else {
            return None;
        };
        let keys = self.grid_keys()?;
        let (covers, values) = self.covers(&keys).zip(values)?;
        let size: usize = keys.iter().map(|(_, key)| key.size()).product();
        let mut lines: Vec<Vec<Point>> = vec![Vec::new(); size];
        for ((row, cover), value) in (0_u32..).zip(&covers).zip(values) {
            let source = table.rows.get(row as usize)?;
            let Some(point) = source.cells.get(at).and_then(|cell| self.figure(cell, unit)) else {
                continue;
            };
            for place in places(&keys, cover) {
                let Some(line) = lines.get_mut(place) else {
                    continue;
                };
                if line.last().is_some_and(|last| last.at >= point) {
                    let flaw = Flaw::new(
                        source.span,
                        "order",
                        format!("{key} = {point} does not follow the point before it"),
                    );
                    self.flaws.push(flaw.expected("points ascending, each once"));
                    break;
                }
                line.push(Point {
                    at: point,
                    value: *value,
                    row,
                });
            }
        }
        for (cell, line) in lines
            .iter()
            .enumerate()
            .filter(|(_, line)| line.len() < 2)
            .take(HOLES_TOLD)
        {
            let of = self.combination(&keys, cell);
            let of = if of.is_empty() {
                String::new()
            } else {
                format!(" for {of}")
            };
            let flaw = table
                .name
                .whole("hole", format!("a line needs two points{of}"))
                .found(line.len().to_string());
            self.flaws.push(flaw);
        }
        let cells = (0..u32::try_from(size).ok()?).collect();
        let grid = crate::rules::program::Grid {
            keys: keys.into_iter().map(|(_, key)| key).collect(),
            cells,
        };
        Some(Curve {
            name: table.name.shared(),
            key,
            grid,
            lines,
            clamp,
        })
    }
}
