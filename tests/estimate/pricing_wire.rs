//! A priced bill as JSON.

use estimate::bill::LineKey;
use estimate::quantity::unit::Unit;
use estimate::rules::outcome::{AmountKind, LineHead};
use serde_json::{Value, json};

use crate::bill_case::{Case, catalogue, charge, class, dec, from, item, need, outcome, work};

#[test]
fn a_priced_bill_as_json() {
    let mut asked = outcome();
    asked.needs = vec![need(from(0, 1), "INS", "43", "0.05")];
    let mut hang = work(from(0, 2), "hang_unit", "lead", "2");
    hang.crew = dec("2");
    let noted = LineHead {
        note: Some("two persons".into()),
        ..hang.line.clone()
    };
    hang.line = Box::leak(Box::new(noted));
    asked.labour = vec![hang];
    asked.amounts = vec![charge(from(2, 1), AmountKind::Fee, "services", "165")];
    let items = vec![item("INS", Unit::FT, &[("6", "4.805")])];
    let case = Case::new(catalogue(items, vec![class("lead", "50.00")]), asked);
    let priced = case.priced().unwrap();
    let wire: Value = serde_json::to_value(&priced).unwrap();
    let money = |amount: &str| json!({"amount": amount, "currency": "USD"});
    let ft = |value: &str| json!({"value": value, "unit": "ft"});
    let h = |value: &str| json!({"value": value, "unit": "h"});
    let insulation = json!({
        "position": 1, "key": "material:INS", "section": "Unit", "assembly": "A0", "assembly_title": "assembly",
        "kind": "material", "code": "INS", "description": "item INS", "group": "material",
        "quantity": ft("43"), "waste": ft("2.15"),
        "shares": [{"assembly": "A0", "line": 1, "quantity": ft("43"), "waste": ft("2.15"), "one_piece": false}],
        "bought": {
            "packs": [{"size": ft("6"), "name": "pack", "count": 8, "unit_cost": money("4.805")}],
            "total": ft("48"), "left_over": ft("2.85"),
        },
        "supplier": "Fenwold Supply", "lead_days": 2,
        "unit_cost": money("0.800833"), "cost": money("38.44"), "price": money("38.44"), "discount": money("0.00"),
        "tax_category": "goods", "cost_code": "MAT",
        "price_source": {"valid_from": "2031-01-10", "age_days": 22, "source": "list of January"},
    });
    assert_eq!(wire["lines"][0], insulation);
    let hang = json!({
        "position": 2, "key": "labour:A0/hang_unit", "section": "Unit", "assembly": "A0", "assembly_title": "assembly",
        "kind": "labour", "code": "hang_unit", "description": "hang_unit", "labour_class": "lead",
        "hours": h("4"), "clock_hours": h("2"), "crew": "2", "factors": [], "factors_capped": false,
        "unit_cost": money("50.00"), "cost": money("200.00"), "price": money("200.00"), "discount": money("0.00"),
        "tax_category": "services", "cost_code": "LAB",
        "price_source": {"valid_from": "2031-01-01", "age_days": 31, "source": "payroll"},
        "note": "two persons",
    });
    assert_eq!(wire["lines"][1], hang);
    let totals = json!({
        "cost": money("403.44"), "contingency": money("0.00"), "overhead": money("0.00"), "full_cost": money("403.44"),
        "warranty_reserve": money("0.00"), "subcontract_markup": money("0.00"), "profit": money("0.00"),
        "price_changes": money("0.00"), "price": money("403.44"), "discount": money("0.00"), "net": money("403.44"),
        "taxes": [
            {"category": "goods", "title": "goods", "uncl5305": "S", "rate": "6.25", "base": money("38.44"), "amount": money("2.40")},
            {"category": "services", "title": "services", "uncl5305": "E", "rate": "0", "base": money("365.00"), "amount": money("0.00")},
        ],
        "tax": money("2.40"), "total": money("405.84"), "hours": h("4"), "margin": "0", "profit_margin": "0",
    });
    assert_eq!(wire["totals"], totals);
    let labour = json!([{
        "labour_class": "lead", "rate": money("50.00"), "line_hours": h("4"), "hours": h("4"),
        "cost": money("200.00"), "price": money("200.00"),
    }]);
    assert_eq!(wire["labour"], labour);
    let schedule = json!([{"label": "when done", "share": "100", "amount": money("405.84")}]);
    assert_eq!(wire["payment_schedule"], schedule);
    assert_eq!(
        priced.lines.iter().nth(2).unwrap().bill.key,
        LineKey::Fee {
            assembly: "A2",
            number: 1
        }
    );
}
