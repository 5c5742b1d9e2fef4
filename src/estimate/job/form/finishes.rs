//! Questions about trim, painting and patching.

use serde_json::Value;

use super::{Field, Shape, choice, count, hundredths, list, measure};
use crate::job::choices::{PaintedPart, Painter, Texture, Trim, TrimColour};
use crate::quantity::unit::Unit;

const PARTS: usize = 4;

pub(super) fn group() -> Field {
    let painting = vec![
        Field::new("part", "What is painted", choice::<PaintedPart>()),
        Field::new("coats", "Coats", count(1, 6)),
        Field::new("by", "Who paints", choice::<Painter>()),
        Field::new(
            "area",
            "Area of the ceiling to paint",
            measure(Unit::FT2, hundredths(10), 20_000),
        )
        .when("part", &["ceiling"]),
    ];
    let patch = vec![
        Field::new("area", "Area to patch", measure(Unit::FT2, hundredths(10), 5000)),
        Field::new("texture", "Texture of the ceiling", choice::<Texture>()),
    ];
    let fields = vec![
        Field::new("trim", "Decorative trim", choice::<Trim>()),
        Field::new("trim_colour", "Colour of the trim", choice::<TrimColour>())
            .or("standard")
            .told_where(|around| around.beside_is_not("trim", "none")),
        Field::new("painting", "Painting", list(Shape::Group(painting), 0, PARTS))
            .or(Value::Array(Vec::new())),
        Field::new("ceiling_patch", "Ceiling patch", Shape::Group(patch))
            .or_words("none")
            .told_where(|around| around.job["site"]["ceiling_open"] != true),
    ];
    Field::new("finishes", "Finishes", Shape::Group(fields))
}
