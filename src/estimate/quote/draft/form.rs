//! The forms of drafts: what the office fills in beside the estimate request.

use serde_json::Value;

use crate::job::form::{Field, LINE, PARAGRAPH, Shape, count, list};

const ALTERNATES: usize = 20;
const EXCLUSIONS: usize = 100;
const NOTES: usize = 40;
const CODE: usize = 60;
const HAND_LINES: usize = 200;
const OVERRIDES: usize = 500;
const LONGEST_VALIDITY: u32 = 730;

/// The draft of an offer.
pub(super) fn offer() -> Shape {
    let alternate = vec![
        Field::new("name", "Short name", Shape::Code { max: CODE }),
        Field::new("title", "What the customer reads", Shape::Text { max: LINE }),
        Field::new("note", "What the customer reads below it", text()).optional(),
        Field::new("change", "What it changes", change()),
    ];
    let mut fields = vec![
        Field::new("request", "Estimate request", Shape::Open)
            .help("As for an estimate: the job spec, and what is asked of its pricing."),
        Field::new(
            "alternates",
            "Alternates",
            list(Shape::Group(alternate), 0, ALTERNATES),
        )
        .or(Value::Array(Vec::new())),
    ];
    fields.extend(around());
    Shape::Group(fields)
}

/// The draft of a change order.
pub(super) fn change_order() -> Shape {
    let mut fields = vec![
        Field::new("title", "What the customer reads", Shape::Text { max: LINE }),
        Field::new("change", "What it changes", change()),
    ];
    fields.extend(around());
    Shape::Group(fields)
}

fn text() -> Shape {
    Shape::Text { max: PARAGRAPH }
}

/// What stands around the figures of either.
fn around() -> [Field; 3] {
    let wording = vec![
        Field::new("introduction", "In front of the figures", text()).optional(),
        Field::new("notes", "Remarks", list(text(), 0, NOTES)).optional(),
        Field::new("closing", "Behind the figures", text()).optional(),
    ];
    [
        Field::new(
            "exclusions",
            "What the offer does not contain",
            list(text(), 0, EXCLUSIONS),
        )
        .or(Value::Array(Vec::new())),
        Field::new("wording", "Texts of the offer", Shape::Group(wording)).optional(),
        Field::new(
            "validity_days",
            "Days that the offer holds",
            count(1, LONGEST_VALIDITY),
        )
        .optional()
        .help("As the policy says when it is left out."),
    ]
}

fn change() -> Shape {
    Shape::Group(vec![
        Field::new("job", "Patch of the job spec", Shape::Open)
            .optional()
            .help("A JSON Merge Patch (RFC 7396): a list is replaced as a whole, null takes an answer away."),
        Field::new("extra", "Extra inputs of the rulebook", Shape::Open).optional(),
        Field::new(
            "manual_lines",
            "Lines put in by hand",
            list(Shape::Open, 0, HAND_LINES),
        )
        .optional()
        .help("Behind those of the request."),
        Field::new(
            "overrides",
            "Figures replaced by hand",
            list(Shape::Open, 0, OVERRIDES),
        )
        .optional()
        .help("Those of a line in the place of the request's for that line; its others stay. An empty list takes all away."),
    ])
}
