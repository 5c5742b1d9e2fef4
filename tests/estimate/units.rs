//! Units: parsing, spelling, dimensions and exact conversion.

use estimate::quantity::Quantity;
use estimate::quantity::unit::{Unit, UnitFault};
use proptest::prelude::*;
use rust_decimal::Decimal;
use std::str::FromStr;

fn decimal(text: &str) -> Decimal {
    Decimal::from_str(text).unwrap()
}

fn convert(value: &str, from: &str, to: &str) -> Decimal {
    Unit::parse(from)
        .unwrap()
        .convert(decimal(value), &Unit::parse(to).unwrap())
        .unwrap()
}

/// Each row of the table names its source.
#[test]
fn conversions_agree_with_published_factors() {
    let rows: Vec<Vec<&str>> = include_str!("../reference/units.csv")
        .lines()
        .filter(|line| !line.starts_with('#'))
        .map(|line| line.splitn(6, ',').collect())
        .collect();
    assert!(rows.len() > 35);
    for row in rows {
        let [value, from, to, published, how, source] = row[..] else {
            panic!("a row of six: {row:?}")
        };
        let (got, published) = (convert(value, from, to), decimal(published));
        let got = if how == "rounded" {
            got.round_dp(published.scale())
        } else {
            got
        };
        assert_eq!(got, published, "{value} {from} in {to}: {source}");
    }
}

/// A value without an end keeps ten places; a value with an end keeps all of them.
#[test]
fn endless_values_keep_ten_places() {
    assert_eq!(convert("1", "ft", "yd"), decimal("0.3333333333"));
    assert_eq!(convert("2", "ft", "yd"), decimal("0.6666666667"));
    assert_eq!(convert("-2", "ft", "yd"), decimal("-0.6666666667"));
    assert_eq!(convert("55", "degF", "degC"), decimal("12.7777777778"));
    assert_eq!(convert("1", "floz", "m3"), decimal("0.0000295735295625"));
}

#[test]
fn a_unit_is_spelled_as_it_was_written() {
    for text in [
        "1",
        "ft",
        "ft2",
        "oz/ft",
        "Btu/h",
        "h*ft2*F_diff/Btu",
        "1/h",
        "lb/ft3",
        "money/h",
        "h/each",
    ] {
        assert_eq!(Unit::parse(text).unwrap().symbol(), text);
    }
    assert_eq!(Unit::parse("ft*ft").unwrap().symbol(), "ft2");
    assert_eq!(Unit::parse("ft/ft").unwrap(), Unit::ONE);
    assert_eq!(Unit::parse("Btu/h/ft2/F_diff").unwrap(), Unit::U_VALUE);
    assert_eq!(Unit::parse("h*ft2*F_diff/Btu").unwrap(), Unit::R_VALUE);
}

#[test]
fn a_wrong_unit_is_told_with_the_nearest_name() {
    let nearest = |text| match Unit::parse(text) {
        Err(UnitFault::Unknown { nearest, .. }) => nearest,
        other => panic!("{text}: {other:?}"),
    };
    assert_eq!(nearest("fft"), Some("ft"));
    assert_eq!(nearest("Kg"), Some("kg"));
    assert_eq!(nearest("galon"), None);
    assert_eq!(nearest("moneys"), Some("money"));
    for text in ["", "ft*", "/h", "ft//h", "ft h", "ft^4", "  "] {
        assert!(
            matches!(Unit::parse(text), Err(UnitFault::Malformed { .. })),
            "{text:?}"
        );
    }
    for text in ["ft0", "ft1", "ft10", "12"] {
        assert!(
            matches!(Unit::parse(text), Err(UnitFault::Unknown { .. })),
            "{text:?}"
        );
    }
    assert!(matches!(
        Unit::parse("degF/ft"),
        Err(UnitFault::PointInProduct { symbol: "degF" })
    ));
    assert!(matches!(
        Unit::parse("degF2"),
        Err(UnitFault::PointInProduct { .. })
    ));
    assert!(matches!(Unit::parse("ft9*ft9"), Err(UnitFault::TooComplicated)));
    assert!(matches!(
        Unit::parse("ft*lb*s*K*money*each*A*V*h"),
        Err(UnitFault::TooComplicated)
    ));
}

#[test]
fn points_and_differences_are_two_kinds() {
    let (point, difference) = (Unit::DEG_F, Unit::F_DIFF);
    assert!(!point.same_dimension(&difference));
    assert!(matches!(
        point.convert(Decimal::ONE, &difference),
        Err(UnitFault::DifferentDimension { .. })
    ));
    assert_eq!(point.dimension().to_string(), "temperature");
    assert_eq!(difference.dimension().to_string(), "temperature difference");
}

#[test]
fn dimensions_speak_the_language_of_the_trade() {
    for (unit, words) in [
        ("1", "plain number"),
        ("ft2", "area"),
        ("Btu/h", "power"),
        ("VA", "power"),
        ("oz/ft", "mass per length"),
        ("h/each", "time per count"),
        ("1/h", "one per time"),
        ("h*ft2*F_diff/Btu", "thermal resistance"),
        ("money/ft2", "money per length^2"),
    ] {
        assert_eq!(Unit::parse(unit).unwrap().dimension().to_string(), words);
    }
}

#[test]
fn a_unit_is_its_symbol_in_json() {
    let unit = Unit::parse("oz/ft").unwrap();
    assert_eq!(serde_json::to_string(&unit).unwrap(), "\"oz/ft\"");
    assert_eq!(serde_json::from_str::<Unit>("\"oz/ft\"").unwrap(), unit);
    assert!(serde_json::from_str::<Unit>("\"ounces\"").is_err());
}

#[test]
fn a_quantity_is_read_by_its_digits_and_written_as_text() {
    let read = |text| serde_json::from_str::<Quantity>(text);
    let forty = Quantity {
        value: decimal("38.5"),
        unit: Unit::FT,
    };
    assert_eq!(read(r#"{"value": "38.5", "unit": "ft"}"#).unwrap(), forty);
    assert_eq!(read(r#"{"value": 38.5, "unit": "ft"}"#).unwrap(), forty);
    assert_eq!(
        serde_json::to_string(&forty).unwrap(),
        r#"{"value":"38.5","unit":"ft"}"#
    );
    let value = serde_json::to_value(forty).unwrap();
    assert_eq!(serde_json::from_value::<Quantity>(value).unwrap(), forty);
    let long = r#"{"value": 123456789012345.123456, "unit": "ft"}"#;
    assert_eq!(read(long).unwrap().value, decimal("123456789012345.123456"));
    assert_eq!(
        toml::from_str::<Quantity>("value = 12\nunit = \"ft\"")
            .unwrap()
            .value,
        decimal("12")
    );
    assert!(
        toml::from_str::<Quantity>("value = 12.5\nunit = \"ft\"").is_err(),
        "a binary float"
    );
    for text in [
        r#"{"value": 1e3, "unit": "ft"}"#,
        r#"{"value": 0.1000000000000000055511151231257827, "unit": "ft"}"#,
        r#"{"value": "1_000", "unit": "ft"}"#,
        r#"{"value": "12"}"#,
        r#"{"value": {"a": 1}, "unit": "ft"}"#,
        r#"{"value": "12", "unit": "foot"}"#,
        r#"{"value": "12", "unit": "ft", "more": 1}"#,
    ] {
        assert!(read(text).is_err(), "{text}");
    }
}

#[test]
fn too_large_a_result_is_a_fault() {
    let far = Unit::parse("mi").unwrap().convert(Decimal::MAX, &Unit::IN);
    assert!(matches!(far, Err(UnitFault::TooLarge { .. })));
}

fn any_unit() -> impl Strategy<Value = Unit> {
    let names: Vec<&'static str> = Unit::names().filter(|name| !name.starts_with("deg")).collect();
    prop::collection::vec((prop::sample::select(names), any::<bool>()), 1..4).prop_map(|parts| {
        parts.iter().fold(Unit::ONE, |unit, (name, over)| {
            let next = Unit::parse(name).unwrap();
            unit.times(&next, if *over { -1 } else { 1 }).unwrap()
        })
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn a_symbol_reads_back_as_the_same_measure(unit in any_unit()) {
        let back = Unit::parse(&unit.symbol()).unwrap();
        prop_assert!(back.same_dimension(&unit));
        prop_assert_eq!(back.symbol(), unit.symbol());
        prop_assert_eq!(back.convert(Decimal::ONE, &unit).unwrap(), Decimal::ONE);
    }

    #[test]
    fn there_and_back_is_within_the_last_place_kept(mantissa in -1_000_000_000_i64..1_000_000_000, scale in 0_u32..6) {
        let value = Decimal::new(mantissa, scale);
        for (from, to) in [("ft", "m"), ("in", "mm"), ("lb", "kg"), ("Btu/h", "W"), ("degF", "degC"), ("gal", "L")] {
            let (from, to) = (Unit::parse(from).unwrap(), Unit::parse(to).unwrap());
            let back = to.convert(from.convert(value, &to).unwrap(), &from).unwrap();
            prop_assert!((back - value).abs() <= Decimal::new(4, 10), "{} {} {}", value, from, back);
        }
    }

    #[test]
    fn any_text_is_read_or_refused_without_panic(text in ".{0,40}") {
        let _ = Unit::parse(&text);
    }
}

/// What people write is not taken, and the unit that is meant is told.
#[test]
fn the_unit_that_is_meant_is_told() {
    for (written, meant) in [
        ("F", "degF"),
        ("C", "degC"),
        ("°F", "degF"),
        ("foot", "ft"),
        ("Feet", "ft"),
        ("sqft", "ft2"),
        ("ft²", "ft2"),
        ("inch", "in"),
        ("inches", "in"),
        ("\"", "in"),
        ("'", "ft"),
        ("lbs", "lb"),
        ("hrs", "h"),
        ("Btu/hr", "Btu/h"),
        ("oz/foot", "ft"),
    ] {
        let fault = Unit::parse(written).unwrap_err().to_string();
        assert!(
            fault.ends_with(&format!("did you mean `{meant}`?")),
            "{written}: {fault}"
        );
        Unit::parse(meant).unwrap();
    }
}

/// Of short names a letter for another is another name; capitals, a swap, a letter too many or too few are slips.
#[test]
fn only_likely_slips_of_short_names_are_hinted_at() {
    use estimate::quantity::nearest::name;
    for (wanted, known) in [
        ("KG", "kg"),
        ("gk", "kg"),
        ("kgs", "kg"),
        ("PPI", "PIP"),
        ("LAP", "LAB"),
        ("PIPE", "PIP"),
        ("LA", "LAB"),
        ("line", "lines"),
    ] {
        assert_eq!(name(wanted, [known]), Some(known), "{wanted}");
    }
    for (wanted, known) in [("kq", "kg"), ("mg", "kg"), ("GAB", "LAB"), ("x", "h")] {
        assert_eq!(name(wanted, [known]), None, "{wanted}");
    }
}
