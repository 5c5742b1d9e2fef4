//! Reading JSON strictly, held against the general reader, which differs only where a name occurs twice.

use proptest::prelude::*;
use serde_json::{Value, json};
use tallyrule::desk::strict_json::read;

/// Texts that RFC 8259 takes or refuses; the file's second column says which.
#[test]
fn texts_are_taken_and_refused_as_the_standard_says() {
    for text in [
        "0",
        "-0",
        "1.50",
        "1e400",
        "-1E-7",
        "\"\\ud83c\\udf77\"",
        "[]",
        "{}",
        " null ",
        "true",
        "\"\\u0000\"",
        "{\"a\":{\"a\":1},\"b\":[{\"a\":1},{\"a\":2}]}",
    ] {
        assert!(read(text.as_bytes()).is_ok(), "{text}");
    }
    for text in [
        "",
        " ",
        "01",
        "+1",
        ".5",
        "5.",
        "1e",
        "0x1",
        "nul",
        "'a'",
        "\"a",
        "[1,]",
        "{,}",
        "{\"a\"}",
        "{a:1}",
        "[1 2]",
        "\"\\ud83c\"",
        "\"\t\"",
        "\u{feff}{}",
        "{} []",
        "{\"a\":1,\"a\":1}",
        "{\"a\":1,\"\\u0061\":2}",
    ] {
        assert!(read(text.as_bytes()).is_err(), "{text}");
    }
}

/// Lines and columns are counted from 1, also where nothing came or the text ends with a line.
#[test]
fn what_is_not_there_has_a_place() {
    for (text, place) in [
        ("", (1, 1)),
        (" \n ", (1, 1)),
        ("{\n", (2, 1)),
        ("[1,\n\n", (3, 1)),
    ] {
        let fault = read(text.as_bytes()).unwrap_err();
        assert_eq!((fault.line, fault.column), place, "{text:?}: {fault}");
    }
    for (bytes, word) in [
        (&b"\xef\xbb\xbf{}"[..], "byte order mark"),
        (b"\xff\xfe{\0}\0", "byte order mark"),
        (b"\"\xff\"", "not UTF-8"),
        (b"\"\\ud83c\"", "one half of a pair"),
        (b"\"\\ud83cx\"", "one half of a pair"),
    ] {
        let fault = read(bytes).unwrap_err();
        assert!(fault.message.contains(word), "{fault}");
    }
    assert_eq!(
        read(b"").unwrap_err().message,
        "there is nothing here, and a JSON value is wanted"
    );
}

#[test]
fn numbers_keep_their_digits() {
    for digits in [
        "0.1000000000000000055511151231257827",
        "12.50",
        "123456789012345678901234567890",
        "1.0",
        "-0.0",
    ] {
        let value = read(format!("[{digits}]").as_bytes()).unwrap();
        assert_eq!(value[0].to_string(), digits);
    }
}

#[test]
fn a_name_of_the_library_is_no_back_door() {
    let value = read(br#"{"$serde_json::private::Number": "abc"}"#);
    assert!(value.is_err());
    let more = read(br#"{"$serde_json::private::Number": "1", "a": 2}"#);
    assert!(more.is_err());
}

fn values() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<i64>().prop_map(Value::from),
        "\\PC{0,8}".prop_map(Value::from),
        "-?(0|[1-9][0-9]{0,30})(\\.[0-9]{1,30})?".prop_map(|digits| serde_json::from_str(&digits).unwrap()),
    ];
    leaf.prop_recursive(4, 40, 5, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..5).prop_map(Value::from),
            prop::collection::vec(("[a-c]{1,2}", inner), 0..5)
                .prop_map(|members| Value::Object(members.into_iter().collect())),
        ]
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn what_is_written_reads_back(value in values()) {
        prop_assert_eq!(read(value.to_string().as_bytes()).unwrap(), value.clone());
        prop_assert_eq!(read(format!("{value:#}").as_bytes()).unwrap(), value);
    }

    #[test]
    fn any_text_reads_as_the_general_reader_reads_it(text in "[\\[\\]{},:\"a0-9. eE+\\-\\\\n]{0,24}") {
        let general = serde_json::from_str::<Value>(&text);
        match read(text.as_bytes()) {
            Ok(value) => prop_assert_eq!(value, general.unwrap()),
            Err(fault) => prop_assert!(general.is_err() || fault.message.contains("twice"), "{}: {}", text, fault),
        }
    }

    #[test]
    fn any_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..64)) {
        prop_assert_eq!(read(&bytes).is_ok(), serde_json::from_slice::<Value>(&bytes).is_ok());
    }

    #[test]
    fn a_name_that_occurs_twice_is_refused(name in "[a-z]{1,5}", first in any::<i64>(), second in any::<i64>()) {
        let text = format!("{{\"x\":[{{{}:{first},\"other\":0,{}:{second}}}]}}", json!(name), json!(name));
        let refused = if name == "other" { "other".to_owned() } else { name };
        prop_assert!(read(text.as_bytes()).unwrap_err().message.contains(&refused));
    }
}
