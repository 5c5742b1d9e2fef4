//! Canonical JSON and digests: the test data that goes with RFC 8785, another implementation, and refusals.

use estimate::quote::canonical::{CanonicalFault, Digest, Frozen, MOST_EXACT, text};
use proptest::prelude::*;
use serde_json::{Map, Value, json};

#[derive(serde::Deserialize)]
struct Reference {
    pairs: Vec<Pair>,
}

#[derive(serde::Deserialize)]
struct Pair {
    name: String,
    input: String,
    canonical: String,
}

#[test]
fn the_published_pairs_come_out() {
    let reference: Reference =
        serde_json::from_str(include_str!("../reference/canonical_json.json")).unwrap();
    assert_eq!(reference.pairs.len(), 6);
    for pair in reference.pairs {
        let value: Value = serde_json::from_str(&pair.input).unwrap();
        assert_eq!(text(&value).unwrap(), pair.canonical, "{}", pair.name);
    }
}

/// FIPS 180-2, appendix B.1 and B.2, and the empty message of the NIST example values.
#[test]
fn digests_are_those_of_the_standard() {
    let cases = [
        (
            "",
            "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
        ),
        (
            "abc",
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad",
        ),
        (
            "abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq",
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1",
        ),
    ];
    for (message, digest) in cases {
        assert_eq!(Digest::of(message.as_bytes()).to_string(), digest);
        assert_eq!(Digest::parse(digest).unwrap(), Digest::of(message.as_bytes()));
    }
    for wrong in [
        "",
        "abc",
        &"0".repeat(63),
        &"0".repeat(65),
        &"G".repeat(64),
        &"A".repeat(64),
        &"é".repeat(32),
    ] {
        assert!(Digest::parse(wrong).is_err(), "{wrong}");
    }
}

#[test]
fn a_number_that_some_reader_would_take_otherwise_is_refused_with_its_place() {
    for digits in [
        "1.5",
        "56.0",
        "1e2",
        "9007199254740992",
        "-9007199254740992",
        "1e400",
        "0.1",
    ] {
        let value: Value = serde_json::from_str(&format!("{{\"a/b\": [0, {{\"~\": {digits}}}]}}")).unwrap();
        let fault = Frozen::of(&value).unwrap_err();
        let Value::Number(number) = &value["a/b"][1]["~"] else {
            panic!("no number")
        };
        let expected = CanonicalFault::Number {
            pointer: "/a~1b/1/~0".to_owned(),
            number: number.to_string(),
        };
        assert_eq!(fault, expected);
    }
    let exact = json!([MOST_EXACT, -MOST_EXACT, 0]);
    assert_eq!(text(&exact).unwrap(), "[9007199254740991,-9007199254740991,0]");
    let minus_nothing: Value = serde_json::from_str("-0").unwrap();
    assert_eq!(text(&minus_nothing).unwrap(), "0");
}

#[test]
fn a_document_without_end_is_refused() {
    let mut deep = json!(1);
    for _ in 0..200 {
        deep = Value::Array(vec![deep]);
    }
    assert_eq!(text(&deep), Err(CanonicalFault::TooDeep));
}

pub fn documents() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::Bool),
        (-MOST_EXACT..=MOST_EXACT).prop_map(Value::from),
        any::<String>().prop_map(Value::String),
        "[\\x00-\\x7f]{0,6}".prop_map(Value::String),
    ];
    leaf.prop_recursive(4, 40, 6, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..6).prop_map(Value::Array),
            prop::collection::vec((any::<String>(), inner), 0..6)
                .prop_map(|members| Value::Object(members.into_iter().collect::<Map<_, _>>())),
        ]
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Held against serde_json_canonicalizer, an implementation of RFC 8785 of other people.
    #[test]
    fn another_implementation_writes_the_same(document in documents()) {
        let theirs = serde_json_canonicalizer::to_string(&document).unwrap();
        prop_assert_eq!(text(&document).unwrap(), theirs);
    }

    #[test]
    fn what_is_written_reads_back_as_the_same_and_is_written_the_same(document in documents()) {
        let frozen = Frozen::of(&document).unwrap();
        let read: Value = serde_json::from_slice(frozen.bytes()).unwrap();
        prop_assert_eq!(&read, &document);
        prop_assert_eq!(Frozen::of(&read).unwrap(), frozen);
    }
}
