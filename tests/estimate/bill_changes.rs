//! What a person changes of a bill, and every fault told at once.

use estimate::bill::BillFault;
use estimate::bill::line::Figure;
use estimate::job::{BoughtKind, Replaced};
use estimate::quantity::measure::Hours;
use estimate::quantity::unit::Unit;
use estimate::quantity::{Decimal, Quantity};
use estimate::rules::outcome::{AmountKind, Level, Missing};
use serde_json::json;

use crate::bill::{crew_of_two, goods, insulation, labour, packs};
use crate::bill_case::{
    Case, catalogue, change, charge, class, day, dec, feet, from, item, manual, manual_hours, need, outcome,
    usd, work,
};
use crate::demo::Demo;

#[test]
fn a_replaced_quantity_is_packed_and_the_computed_one_stays_beside_it() {
    let mut case = insulation();
    case.overrides = vec![change("material:INS", Replaced::Quantity(feet("61")))];
    let bill = case.bill().unwrap();
    let line = &bill.lines[0];
    assert_eq!(packs(goods(line)), [("6".to_owned(), 11)]);
    assert_eq!(line.replaced[0].computed, Figure::Quantity(feet("47")));
    assert_eq!(line.replaced[0].given, Figure::Quantity(feet("61")));
    // The same in metres: 18.5928 m are 61 ft (1 ft = 0.3048 m, NIST SP 811).
    let metres = Quantity {
        value: dec("18.5928"),
        unit: Unit::parse("m").unwrap(),
    };
    case.overrides = vec![change("material:INS", Replaced::Quantity(metres))];
    assert_eq!(goods(&case.bill().unwrap().lines[0]).quantity, dec("61"));
}

#[test]
fn a_unit_cost_by_hand_prices_what_the_list_does_not() {
    let mut asked = outcome();
    asked.needs = vec![need(from(0, 1), "NEW", "52", "0")];
    let mut case = Case::new(
        catalogue(
            vec![item("NEW", Unit::FT, &[("50", "-"), ("20", "-")])],
            Vec::new(),
        ),
        asked,
    );
    let fault = BillFault::NoPrice {
        item: "NEW".to_owned(),
        day: day("2031-02-01"),
        first: None,
    };
    assert_eq!(case.bill().unwrap_err(), [fault]);
    case.overrides = vec![change("material:NEW", Replaced::UnitCost(dec("1.25")))];
    let bill = case.bill().unwrap();
    let goods = goods(&bill.lines[0]);
    // By the foot all packs are as good: three of 20 leave 8 ft, 50 + 20 leave 18.
    assert_eq!(
        (packs(goods), goods.cost),
        (vec![("20".to_owned(), 3)], dec("75"))
    );
    assert_eq!(goods.source, None);
    assert_eq!(bill.lines[0].replaced[0].computed, Figure::UnitCost(None));
}

#[test]
fn a_unit_cost_by_hand_keeps_the_lists_beside_it() {
    let mut case = insulation();
    case.overrides = vec![change("material:INS", Replaced::UnitCost(dec("0.9")))];
    let bill = case.bill().unwrap();
    assert_eq!(goods(&bill.lines[0]).cost, dec("43.2"));
    assert_eq!(
        bill.lines[0].replaced[0].computed,
        Figure::UnitCost(Some(dec("0.8")))
    );
}

#[test]
fn hours_and_rates_are_replaced_by_hand() {
    let mut case = crew_of_two(&[]);
    case.overrides = vec![
        change("labour:A0/hang_unit", Replaced::Hours(Hours(dec("7.5")))),
        change("labour:A0/hang_unit", Replaced::UnitCost(dec("75"))),
    ];
    let bill = case.bill().unwrap();
    let work = labour(&bill.lines[0]);
    assert_eq!(
        (work.hours, work.rate, work.source),
        (dec("7.5"), dec("75"), None)
    );
    let computed: Vec<_> = bill.lines[0]
        .replaced
        .iter()
        .map(|figure| figure.computed)
        .collect();
    let hours = Quantity {
        value: dec("5"),
        unit: Unit::H,
    };
    assert_eq!(
        computed,
        [Figure::Quantity(hours), Figure::UnitCost(Some(dec("50")))]
    );
}

#[test]
fn a_class_without_a_rate_can_be_rated_by_hand() {
    let mut asked = outcome();
    asked.labour = vec![work(from(0, 1), "wire", "sparks", "3")];
    let mut sparks = class("sparks", "60");
    sparks.rates[0].valid_from = day("2031-06-01");
    let mut case = Case::new(catalogue(Vec::new(), vec![sparks]), asked);
    let fault = BillFault::NoRate {
        class: "sparks".to_owned(),
        day: day("2031-02-01"),
        first: Some(day("2031-06-01")),
    };
    assert_eq!(case.bill().unwrap_err(), [fault]);
    case.overrides = vec![change("labour:A0/wire", Replaced::UnitCost(dec("58")))];
    assert_eq!(labour(&case.bill().unwrap().lines[0]).rate, dec("58"));
}

#[test]
fn every_fault_is_told_at_once_with_its_place() {
    let mut asked = outcome();
    asked.needs = vec![
        need(from(0, 1), "GONE", "1", "0"),
        need(from(0, 2), "BARE", "1", "0"),
        need(from(0, 3), "INS", "1", "0"),
    ];
    asked.labour = vec![
        work(from(0, 4), "fly", "pilot", "1"),
        work(from(0, 5), "hang", "lead", "1"),
    ];
    asked.amounts = vec![charge(from(1, 1), AmountKind::Fee, "services", "9")];
    let items = vec![
        item("BARE", Unit::EACH, &[("1", "-")]),
        item("INS", Unit::FT, &[("6", "4.80")]),
    ];
    let mut case = Case::new(catalogue(items, vec![class("lead", "50")]), asked);
    case.manual = vec![manual_hours("pilot", "1"), manual_hours("lead", "-1")];
    case.overrides = vec![
        change("material:NOPE", Replaced::UnitCost(Decimal::ONE)),
        change("material:INS", Replaced::Hours(Hours(Decimal::ONE))),
        change(
            "material:INS",
            Replaced::Quantity(Quantity {
                value: Decimal::ONE,
                unit: Unit::LB,
            }),
        ),
        change("labour:A0/hang", Replaced::UnitCost(dec("-1"))),
        change("fee:A1/1", Replaced::Quantity(feet("1"))),
        change("policy:freight", Replaced::Quantity(feet("1"))),
        change("policy:luck", Replaced::Price(usd("1.00"))),
        change("labour:A0/hang", Replaced::UnitCost(dec("2"))),
    ];
    let faults = case.bill().unwrap_err();
    let told: Vec<_> = faults.iter().map(ToString::to_string).collect();
    for expected in [
        "the catalogue holds no item GONE",
        "the catalogue holds no labour class pilot",
        "item BARE has no price on 2031-02-01",
        "the catalogue holds no labour class pilot",
        "must not be negative",
        "this job has no line material:NOPE",
        "line material:INS has no hours to replace",
        "lb (mass) cannot become ft (length)",
        "must not be negative",
        "line fee:A1/1 has no quantity to replace",
        "line policy:freight has no quantity to replace",
        "this job has no line policy:luck",
        "line labour:A0/hang is overridden twice",
    ] {
        assert!(
            told.iter().any(|message| message.starts_with(expected)),
            "{expected} is not among {told:#?}"
        );
    }
    assert_eq!(faults.len(), 13, "{told:#?}");
    let places: Vec<_> = faults
        .iter()
        .filter_map(|fault| Some(fault.of_request()?.pointer))
        .collect();
    let expected = [
        "/manual_lines/0/labour_class",
        "/manual_lines/1/hours",
        "/overrides/0/line",
        "/overrides/1/hours",
        "/overrides/2/quantity",
        "/overrides/3/unit_cost",
        "/overrides/4/quantity",
        "/overrides/5/quantity",
        "/overrides/6/line",
        "/overrides/7/line",
    ];
    assert_eq!(places, expected);
}

/// Pieces of 11, 12 and 4 ft from packs of 10 ft: priced as joined, and a stop says why.
#[test]
fn a_piece_longer_than_every_pack_is_bought_joined_and_stops_the_offer() {
    let mut long = item("LONG", Unit::FT, &[("10", "5")]);
    long.one_piece = true;
    let mut asked = outcome();
    asked.needs = vec![
        need(from(0, 1), "LONG", "11", "0"),
        need(from(0, 2), "LONG", "12", "0"),
        need(from(0, 3), "LONG", "4", "0"),
    ];
    let case = Case::new(catalogue(vec![long], Vec::new()), asked);
    let bill = case.bill().unwrap();
    let told: Vec<_> = bill
        .cautions
        .iter()
        .map(|caution| (caution.level, caution.message.as_str()))
        .collect();
    let message = "LONG: 12 ft are needed in one piece (another piece is too long as well), the longest pack holds 10 ft: \
                   a joint would be needed";
    assert_eq!(told, [(Level::Stop, message)]);
    let long = goods(&bill.lines[0]);
    assert_eq!((long.bought, long.left_over), (dec("30"), dec("3")));
}

#[test]
fn a_line_by_hand_covers_the_subject_whose_code_it_carries() {
    let mut case = insulation();
    let subject = |code| Missing {
        code,
        title: "title",
        wording: None,
    };
    case.outcome.missing = vec![subject("permit"), subject("disposal")];
    let mut permit = manual(BoughtKind::Fee, "services", "1", "165");
    permit.code = Some("permit".to_owned());
    case.manual = vec![permit];
    let codes = |missing: &[Missing<'_>]| {
        missing
            .iter()
            .map(|subject| subject.code.to_owned())
            .collect::<Vec<_>>()
    };
    assert_eq!(codes(&case.bill().unwrap().missing), ["disposal"]);
}

/// Any code may be given by hand; one that is nearly that of an item is told, and taken as it stands.
#[test]
fn a_code_by_hand_that_is_nearly_an_items_is_told() {
    let demo = Demo::load();
    let told = |kind: &str, code: &str| {
        let mut request = Demo::job("pinfold-basement.json");
        request["manual_lines"] = json!([{
            "kind": kind, "code": code, "description": "by hand", "quantity": {"value": "1", "unit": "each"},
            "unit_cost": "10", "cost_code": "CTL", "tax_category": "goods", "reason": "asked for"
        }]);
        let request = demo.read(&request);
        let prices = demo.prices(&request);
        let estimate = demo.estimate(&request, &prices, false).unwrap();
        assert!(
            estimate
                .priced
                .lines
                .iter()
                .any(|line| line.bill.code == Some(code)),
            "{code}"
        );
        let mut cautions = estimate.cautions.iter();
        let caution = cautions.find(|caution| caution.code == "manual_code_near_item");
        caution.map(|caution| (caution.level, caution.message.clone()))
    };
    for (code, near) in [
        ("CT-WAL", "CT-WALL"),
        ("ct-wall", "CT-WALL"),
        ("CTWALL", "CT-WALL"),
        ("CT-WLAL", "CT-WALL"),
        ("HU-MODULES", "HU-MODULE"),
        ("PU15", "PU-15"),
    ] {
        let message = format!(
            "Line 1 put in by hand: there is no item {code}; the catalogue has {near}. Another code is taken as it stands."
        );
        assert_eq!(told("material", code), Some((Level::Caution, message)), "{code}");
    }
    // An item of the catalogue; other names; another size; what the rules miss on this job, and that is meant.
    for code in ["CT-WALL", "WINE-RACK", "PU-35", "TS-916", "humidity"] {
        assert_eq!(told("fee", code), None, "{code}");
    }
}
