//! Quote numbers and the names of revisions.

use std::num::NonZeroU32;

use estimate::quote::number::{NumberFault, NumberPattern, PatternFault, QuoteNumber, RevisionName};
use proptest::prelude::*;

fn at(counter: u32) -> NonZeroU32 {
    NonZeroU32::new(counter).unwrap()
}

#[test]
fn a_pattern_makes_and_reads_numbers() {
    let cases = [
        ("{year}-{counter:5}", 2031, 42, "2031-00042"),
        ("{year}-{counter:5}", 2031, 123_456, "2031-123456"),
        ("HM{counter:3}/{year}", 2031, 7, "HM007/2031"),
        ("Q{year}{counter:1}", 2031, 10, "Q203110"),
        ("{counter:9}.{year}.x", 9999, 1, "000000001.9999.x"),
    ];
    for (pattern, year, counter, number) in cases {
        let pattern = NumberPattern::parse(pattern).unwrap();
        assert_eq!(pattern.number(year, at(counter)).unwrap().as_str(), number);
        assert_eq!(pattern.read(number).unwrap(), (year, at(counter)));
    }
}

#[test]
fn what_is_no_pattern_is_said() {
    let cases = [
        ("{counter:5}", PatternFault::Year),
        ("{year}-{year}-{counter:5}", PatternFault::Year),
        ("{year}", PatternFault::Counter),
        ("{year}{counter:2}{counter:2}", PatternFault::Counter),
        ("{year}-{counter:0}", PatternFault::Width),
        ("{year}-{counter:10}", PatternFault::Width),
        ("{year}-{counter:05}", PatternFault::Width),
        ("{year}-{counter}", PatternFault::Place("counter".to_owned())),
        ("{year}-{month}", PatternFault::Place("month".to_owned())),
        ("{year}-{counter:5", PatternFault::Place("counter:5".to_owned())),
        ("{year}-}{counter:5}", PatternFault::Place("}".to_owned())),
        ("{year} {counter:5}", PatternFault::Sign(' ')),
        ("{year}-é{counter:5}", PatternFault::Sign('é')),
        ("{year}-R{counter:5}", PatternFault::Mark),
        ("{counter:5}-C{year}", PatternFault::Mark),
        ("{year}{counter:5}-R7", PatternFault::Mark),
    ];
    for (pattern, fault) in cases {
        assert_eq!(NumberPattern::parse(pattern), Err(fault), "{pattern}");
    }
    assert_eq!(NumberPattern::parse(&"x".repeat(61)), Err(PatternFault::TooLong));
}

#[test]
fn a_number_of_another_spelling_is_not_read() {
    let pattern = NumberPattern::parse("{year}-{counter:5}").unwrap();
    for text in [
        "2031-42",
        "2031-000042",
        "2031-00000",
        "231-00042",
        "2031_00042",
        "2031-0004é",
        "",
        "2031-00042 ",
    ] {
        assert!(
            matches!(pattern.read(text), Err(NumberFault::NotOfPattern(..))),
            "{text}"
        );
    }
    assert_eq!(pattern.number(999, at(1)), Err(NumberFault::Year(999)));
}

fn number() -> QuoteNumber {
    NumberPattern::parse("{year}-{counter:5}")
        .unwrap()
        .number(2031, at(42))
        .unwrap()
}

#[test]
fn names_of_revisions_and_change_orders_are_written_and_read() {
    let offer = RevisionName {
        number: number(),
        change_order: None,
        revision: at(2),
    };
    let order = RevisionName {
        number: number(),
        change_order: Some(at(1)),
        revision: at(3),
    };
    for (name, text) in [(&offer, "2031-00042-R2"), (&order, "2031-00042-C1-R3")] {
        assert_eq!(name.to_string(), text);
        assert_eq!(RevisionName::parse(text).as_ref(), Ok(name));
        assert_eq!(serde_json::to_string(name).unwrap(), format!("\"{text}\""));
        assert_eq!(
            &serde_json::from_str::<RevisionName>(&format!("\"{text}\"")).unwrap(),
            name
        );
    }
    for text in [
        "2031-00042",
        "2031-00042-R0",
        "2031-00042-R02",
        "-R1",
        "2031-00042-R",
        "2031-00042-Rx",
        "a b-R1",
    ] {
        assert!(RevisionName::parse(text).is_err(), "{text}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn a_number_belongs_to_one_year_and_one_counter(
        before in "[A-Z./-]{0,3}", between in "[A-Z./-]{0,3}", after in "[A-Z0-9./-]{0,3}",
        width in 1_usize..=9, year in 1000_u16..=9999, counter in 1_u32.., year_first: bool,
    ) {
        let (one, other) = ("{year}".to_owned(), format!("{{counter:{width}}}"));
        let (one, other) = if year_first { (one, other) } else { (other, one) };
        if let Ok(pattern) = NumberPattern::parse(&format!("{before}{one}{between}{other}{after}")) {
            let number = pattern.number(year, at(counter)).unwrap();
            prop_assert_eq!(pattern.read(number.as_str()).unwrap(), (year, at(counter)));
            for change_order in [None, Some(at(counter))] {
                let name = RevisionName { number: number.clone(), change_order, revision: at(7) };
                prop_assert_eq!(RevisionName::parse(&name.to_string()).unwrap(), name);
            }
        }
    }

    #[test]
    fn nothing_panics(text in any::<String>(), pattern in "[{}year:counte0-9é-]{0,20}") {
        let _ = RevisionName::parse(&text);
        if let Ok(pattern) = NumberPattern::parse(&pattern) {
            let _ = pattern.read(&text);
        }
    }
}
