//! The estimate request: a job spec and what is asked of its pricing.

use serde_json::Value;

use super::{Field, LINE, PARAGRAPH, Shape, choice, count, list, measure, number};
use crate::job::choices::ManualKind;
use crate::quantity::Decimal;
use crate::quantity::unit::Unit;

const CODE: usize = 60;
const LINE_KEY: usize = 160;
/// Most lines put in by hand.
pub const MANUAL_LINES: usize = 200;
/// Most figures replaced by hand.
pub const OVERRIDES: usize = 500;
/// Most that one unit costs, in the company's currency.
pub const UNIT_COST_MOST: u32 = 100_000_000;
/// Most of a quantity given by hand, in its own unit.
pub const QUANTITY_MOST: u32 = 1_000_000;
/// Most hours given by hand.
pub const HOURS_MOST: u32 = 10_000;
const RULEBOOK_VERSIONS: u32 = 1_000_000;

pub(super) fn fields() -> Vec<Field> {
    vec![
        Field::new("job", "Job spec", Shape::Job),
        Field::new("priced_on", "Day whose prices apply", Shape::Date)
            .optional()
            .help("Today when it is left out."),
        Field::new("rulebook", "Rulebook", Shape::Code { max: CODE })
            .optional()
            .help("The company's own when it is left out."),
        Field::new(
            "rulebook_version",
            "Version of the rulebook",
            count(1, RULEBOOK_VERSIONS),
        )
        .optional()
        .help("The one that is current on the day whose prices apply when it is left out."),
        Field::new("policy", "Pricing policy", Shape::Code { max: CODE })
            .optional()
            .help("The company's own when it is left out."),
        discount(),
        Field::new(
            "manual_lines",
            "Lines put in by hand",
            list(Shape::Group(manual_line()), 0, MANUAL_LINES),
        )
        .or(Value::Array(Vec::new())),
        Field::new(
            "overrides",
            "Figures replaced by hand",
            list(Shape::Group(replaced()), 0, OVERRIDES),
        )
        .or(Value::Array(Vec::new())),
    ]
}

fn discount() -> Field {
    let fields = vec![
        Field::new("percent", "Percent of the price before tax", number(0, 100, 4)).or_else(&["amount"]),
        Field::new("amount", "Amount before tax", Shape::Money { credit: false }).or_else(&["percent"]),
    ];
    Field::new("discount", "Discount on the whole offer", Shape::Group(fields))
        .optional()
        .help("Either a percentage or an amount.")
}

fn unit_cost(credit: bool) -> Shape {
    let max = Decimal::from(UNIT_COST_MOST);
    let min = if credit { -max } else { Decimal::ZERO };
    Shape::UnitCost { min, max }
}

fn any_quantity() -> Shape {
    Shape::AnyQuantity {
        min: Decimal::ZERO,
        max: Decimal::from(QUANTITY_MOST),
    }
}

fn manual_line() -> Vec<Field> {
    const BOUGHT: &[&str] = &["material", "subcontract", "fee"];
    const LABOUR: &[&str] = &["labour"];
    vec![
        Field::new("kind", "Kind of line", choice::<ManualKind>()),
        Field::new("code", "Code", Shape::Code { max: CODE }).optional(),
        Field::new("description", "Description", Shape::Text { max: LINE }),
        Field::new("quantity", "Quantity", any_quantity())
            .when("kind", BOUGHT)
            .help("Where the code is that of an item of the catalogue, in a unit that the item's can be converted to."),
        Field::new(
            "unit_cost",
            "Cost of one unit, in the company's currency",
            unit_cost(true),
        )
        .when("kind", BOUGHT)
        .help("Below zero for a credit, such as for goods that the owner supplies."),
        Field::new("hours", "Labour hours", measure(Unit::H, 0, HOURS_MOST)).when("kind", LABOUR),
        Field::new("labour_class", "Labour class", Shape::Code { max: CODE }).when("kind", LABOUR),
        Field::new("cost_code", "Cost code", Shape::Code { max: CODE })
            .help("One that items, labour classes, the rulebook or the policy use."),
        Field::new("tax_category", "Tax category", Shape::Code { max: CODE }),
        Field::new("reason", "Why it was put in", Shape::Text { max: PARAGRAPH }),
    ]
}

fn replaced() -> Vec<Field> {
    vec![
        Field::new("line", "Key of the line", Shape::Text { max: LINE_KEY })
            .help("As the estimate gives it, such as material:CABLE-25 or labour:HANG/hang_unit."),
        Field::new(
            "quantity",
            "Quantity in place of the computed one",
            any_quantity(),
        )
        .or_else(&["hours", "unit_cost", "price"])
        .help("What packs are chosen for, waste included: it takes the place of the needed quantity and its waste \
               together. In any unit that the line's can be converted to. What bears no joint stays in one piece."),
        Field::new(
            "hours",
            "Labour hours in place of the computed ones",
            measure(Unit::H, 0, HOURS_MOST),
        )
        .or_else(&["quantity", "unit_cost", "price"])
        .help("Hours of all who work, factors included: it takes the place of clock hours, crew and factors together."),
        Field::new(
            "unit_cost",
            "Unit cost in place of the list's, in the company's currency",
            unit_cost(false),
        )
        .or_else(&["quantity", "hours", "price"])
        .help("Of one unit of the item, not of a pack; of an hour; or of an amount as a whole."),
        Field::new(
            "price",
            "Price of the line in place of the computed one",
            Shape::Money { credit: true },
        )
        .or_else(&["quantity", "hours", "unit_cost"])
        .help("Below zero for a credit."),
        Field::new("reason", "Why it was replaced", Shape::Text { max: PARAGRAPH }),
    ]
}
