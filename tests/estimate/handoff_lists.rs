//! Purchase lists, house styles and fixed words.

use chrono::NaiveDate;
use estimate::catalogue::Catalogue;
use estimate::catalogue::prices::PriceBook;
use estimate::handoff::house_style::HouseStyle;
use estimate::handoff::purchase_list::{PurchaseList, Source, purchase_list};
use estimate::handoff::words::Language;
use estimate::job::choices::{self, Choice};
use estimate::quantity::unit::Unit;
use rust_decimal::Decimal;
use rust_decimal::dec;
use serde_json::{Value, json};

use crate::bill_case::item;
use crate::demo::Demo;

fn feet(value: &str) -> Value {
    json!({"value": value, "unit": "ft"})
}

/// A line of goods of an estimate that needs `quantity`, all in one piece or not.
fn line(quantity: &str, one_piece: bool, packs: Value) -> Value {
    json!({"lines": [{
        "kind": "material", "code": "IN-SLEEVE", "description": "Sleeve", "supplier": "Fenwold Supply", "lead_days": 2,
        "quantity": feet(quantity), "waste": feet("0"),
        "shares": [{"quantity": feet(quantity), "waste": feet("0"), "one_piece": one_piece}],
        "bought": {"packs": packs, "total": feet("0"), "left_over": feet("0")},
    }]})
}

fn six_foot_pieces() -> (Catalogue, PriceBook) {
    let catalogue = Catalogue::new(
        vec![item("IN-SLEEVE", Unit::FT, &[("6", "9.00")])],
        Vec::new(),
        Vec::new(),
    )
    .unwrap();
    let prices = PriceBook::on(NaiveDate::MAX, &catalogue);
    (catalogue, prices)
}

fn merged(estimates: &[Value], catalogue: &Catalogue, prices: &PriceBook) -> PurchaseList {
    let names: Vec<String> = (0..estimates.len())
        .map(|number| format!("2031-{number:05}-R1"))
        .collect();
    let sources = names
        .iter()
        .zip(estimates)
        .map(|(name, estimate)| Source { name, estimate });
    purchase_list(&sources.collect::<Vec<_>>(), catalogue, prices, NaiveDate::MAX).unwrap()
}

/// 43 ft and 4 ft of sleeve in pieces of 6 ft: 8 pieces together, 9 apart. Worked by hand: 43 / 6 and 4 / 6 go up to 8
/// and 1, 47 / 6 to 8.
#[test]
fn what_two_quotes_need_is_added_up_before_it_is_packed() {
    let (catalogue, prices) = six_foot_pieces();
    let packs = |count: u32| json!([{"name": "piece", "size": feet("6"), "count": count}]);
    let list = merged(
        &[line("43", false, packs(8)), line("4", false, packs(1))],
        &catalogue,
        &prices,
    );
    let [sleeve] = list.lines.as_slice() else {
        panic!("{list:#?}")
    };
    assert_eq!(
        sleeve.packs.iter().map(|pack| pack.count).collect::<Vec<_>>(),
        [8]
    );
    assert_eq!(sleeve.left_over.unwrap().value, dec!(1));
    assert_eq!(sleeve.shares.len(), 2);
    // Each in one piece, 4 ft twice do not come out of one pack of 6 ft; divisible they come out of two with 4 ft left.
    let whole = merged(
        &[line("4", true, packs(1)), line("4", true, packs(1))],
        &catalogue,
        &prices,
    );
    assert_eq!(whole.lines[0].packs[0].count, 2);
    let cut = merged(
        &[line("2", false, packs(1)), line("4", true, packs(1))],
        &catalogue,
        &prices,
    );
    assert_eq!(cut.lines[0].packs[0].count, 1);
}

#[test]
fn a_list_of_one_quote_has_its_own_packs_and_what_was_put_in_by_hand() {
    let (catalogue, prices) = six_foot_pieces();
    let mut estimate = line(
        "4",
        false,
        json!([{"name": "piece", "size": feet("6"), "count": 5}]),
    );
    let by_hand =
        json!({"kind": "material", "description": "Gate key", "quantity": {"value": "1", "unit": "each"}});
    estimate["lines"].as_array_mut().unwrap().push(by_hand);
    let list = merged(&[estimate], &catalogue, &prices);
    assert_eq!(
        (
            list.lines[0].description.as_str(),
            list.lines[0].supplier.as_str()
        ),
        ("Gate key", "")
    );
    assert_eq!(list.lines[1].packs[0].count, 5);
}

#[test]
fn lists_of_the_demonstration_hold_what_is_needed() {
    let demo = Demo::load();
    let made = crate::demo::job_files().into_iter().map(|file| {
        let request = demo.read(&Demo::job(&file));
        let prices = demo.prices(&request);
        serde_json::to_value(demo.estimate(&request, &prices, false).unwrap()).unwrap()
    });
    let made: Vec<Value> = made.collect();
    let prices = PriceBook::on(NaiveDate::MAX, &demo.catalogue);
    let together = merged(&made, &demo.catalogue, &prices);
    assert!(
        together
            .lines
            .is_sorted_by_key(|line| (line.supplier.clone(), line.code.clone()))
    );
    for line in together.lines.iter().filter(|line| !line.packs.is_empty()) {
        let held: Decimal = line
            .packs
            .iter()
            .map(|pack| pack.size.value * Decimal::from(pack.count))
            .sum();
        let needed = line.needed.unwrap().value + line.waste.unwrap().value;
        assert_eq!(line.bought.unwrap().value, held, "{}", line.code);
        assert_eq!(held - needed, line.left_over.unwrap().value, "{}", line.code);
        assert!(held >= needed, "{}", line.code);
        let shares: Decimal = line
            .shares
            .iter()
            .map(|share| share.quantity.unwrap().value)
            .sum();
        assert_eq!(shares, needed, "{}", line.code);
    }
    let unit = together
        .lines
        .iter()
        .find(|line| line.code == "EQ-CU-45")
        .unwrap();
    assert_eq!(unit.part_number.as_deref(), Some("LW-CU45-7"));
}

#[test]
fn a_house_style_is_read_whole_or_told_whole() {
    assert_eq!(HouseStyle::read(&json!({})).unwrap(), HouseStyle::default());
    let told = HouseStyle::read(
        &json!({"paper": "legal", "accent": "#12345", "wording": {"terms": [7]}, "font": "x"}),
    );
    let pointers: Vec<String> = told
        .unwrap_err()
        .list
        .into_iter()
        .map(|fault| fault.pointer)
        .collect();
    for wanted in ["/paper", "/accent", "/wording/terms/0", "/font"] {
        assert!(
            pointers.iter().any(|pointer| pointer == wanted),
            "{wanted}: {pointers:?}"
        );
    }
}

fn spoken<C: Choice + for<'de> serde::Deserialize<'de>>() {
    for (word, english) in C::WORDS {
        let choice: C = serde_json::from_value(json!(word)).unwrap();
        assert_eq!(Language::En.choice(choice), *english);
        let same = ["115 V", "230 V", "Cable"];
        let spanish = Language::Es.choice(choice);
        assert!(
            spanish != *english || same.contains(english),
            "{english} has no Spanish"
        );
    }
}

#[test]
fn every_answer_that_papers_print_has_its_spanish() {
    spoken::<choices::Mounting>();
    spoken::<choices::ServiceAccess>();
    spoken::<choices::Framing>();
    spoken::<choices::CondenserLocation>();
    spoken::<choices::CondenserSupport>();
    spoken::<choices::Direction>();
    spoken::<choices::Space>();
    spoken::<choices::Tube>();
    spoken::<choices::PenetrationConstruction>();
    spoken::<choices::Discharge>();
    spoken::<choices::ControllerLocation>();
    spoken::<choices::SupplyVoltage>();
    spoken::<choices::Connection>();
    spoken::<choices::WiringMethod>();
    spoken::<choices::ElectricalBy>();
    spoken::<choices::Trim>();
    spoken::<choices::TrimColour>();
    spoken::<choices::PaintedPart>();
    spoken::<choices::Painter>();
    spoken::<choices::Texture>();
    spoken::<choices::WorkingHours>();
    spoken::<choices::Parking>();
}
