//! Merge patches, changes made of them, and the places at which two of them clash.

use estimate::quote::change::Change;
use estimate::quote::merge::{clashes, patched};
use estimate::quote::pointer::{differences, named_differences};
use proptest::prelude::*;
use serde_json::{Map, Value, json};

use crate::quote_canonical::documents;

#[derive(serde::Deserialize)]
struct Reference {
    cases: Vec<Case>,
}

#[derive(serde::Deserialize)]
struct Case {
    original: Value,
    patch: Value,
    result: Value,
}

#[test]
fn the_examples_of_the_standard_come_out() {
    let reference: Reference = serde_json::from_str(include_str!("../reference/merge_patch.json")).unwrap();
    assert_eq!(reference.cases.len(), 15);
    for case in reference.cases {
        assert_eq!(
            patched(&case.original, &case.patch),
            case.result,
            "{} {}",
            case.original,
            case.patch
        );
    }
}

fn change(tree: Value) -> Change {
    serde_json::from_value(tree).unwrap()
}

#[test]
fn a_change_of_inputs_is_a_patch_of_extra() {
    let request = json!({"job": {"title": "T", "extra": {"racks": "2"}}});
    let by_extra = change(json!({"extra": {"racks": null, "glass": true}}));
    let by_patch = change(json!({"job": {"extra": {"racks": null, "glass": true}}}));
    let both = change(
        json!({"job": {"title": "U", "extra": {"racks": "9"}}, "extra": {"racks": null, "glass": true}}),
    );
    let wanted = json!({"job": {"title": "T", "extra": {"glass": true}}});
    assert_eq!(by_extra.apply(&request), wanted);
    assert_eq!(by_patch.apply(&request), wanted);
    assert_eq!(
        both.apply(&request),
        json!({"job": {"title": "U", "extra": {"glass": true}}})
    );
}

#[test]
fn manual_lines_are_added_and_overrides_take_the_place_of_those_of_their_line() {
    let request = json!({"job": {}, "manual_lines": [{"description": "one"}],
        "overrides": [{"line": "a", "price": "1"}, {"line": "b", "hours": "2"}, {"line": "a", "hours": "3"}]});
    let added = change(json!({"manual_lines": [{"description": "two"}]}));
    let changed = added.apply(&request);
    assert_eq!(
        changed["manual_lines"],
        json!([{"description": "one"}, {"description": "two"}])
    );
    assert_eq!(changed["overrides"], request["overrides"]);
    let (one, two, three) = (
        &request["overrides"][0],
        &request["overrides"][1],
        &request["overrides"][2],
    );
    let (again, other) = (
        json!({"line": "a", "price": "9"}),
        json!({"line": "c", "price": "9"}),
    );
    for (overrides, wanted, places) in [
        (json!([again]), json!([two, again]), 1),
        (json!([other]), json!([one, two, three, other]), 3),
        (json!([other, again]), json!([two, other, again]), 1),
        (json!([]), json!([]), 0),
    ] {
        let change = change(json!({"overrides": overrides}));
        assert_eq!(change.apply(&request)["overrides"], wanted, "{overrides}");
        // What is wrong with an entry is told where it stands in the change; what the request brought has no place there.
        for place in 0..wanted.as_array().map_or(0, Vec::len) {
            let told = change.place(&request, &format!("/overrides/{place}/line"));
            let own = place
                .checked_sub(places)
                .map(|own| format!("/overrides/{own}/line"));
            assert_eq!(told, own.unwrap_or_default(), "{overrides}");
        }
    }
}

#[test]
fn overrides_clash_where_they_replace_figures_of_one_line_otherwise() {
    let (a, b) = (
        json!({"line": "a", "price": "1"}),
        json!({"line": "b", "price": "1"}),
    );
    let dearer = json!({"line": "a", "price": "2"});
    for (one, other, clash) in [
        (json!([a]), json!([b]), false),
        (json!([a]), json!([a, b]), false),
        (json!([a]), json!([dearer]), true),
        (json!([b, a]), json!([dearer]), true),
        (json!([a]), json!([a, {"line": "a", "hours": "2"}]), true),
        (json!([]), json!([]), false),
        (json!([]), json!([a]), true),
    ] {
        let (first, then) = (
            change(json!({"overrides": one})),
            change(json!({"overrides": other})),
        );
        let wanted: &[&str] = if clash { &["/overrides"] } else { &[] };
        assert_eq!(first.clashes(&then), wanted, "{one} {other}");
        assert_eq!(then.clashes(&first), wanted, "{other} {one}");
    }
}

#[test]
fn clashes_are_told_by_their_place() {
    let cases = [
        (json!({"a": 1}), json!({"b": 1}), vec![]),
        (json!({"a": 1}), json!({"a": 1}), vec![]),
        (json!({"a": 1}), json!({"a": 2}), vec!["/a"]),
        (json!({"a": null}), json!({"a": 2}), vec!["/a"]),
        (
            json!({"a": {"b": 1, "c/d": 2}}),
            json!({"a": {"b": 2, "c/d": 3}}),
            vec!["/a/b", "/a/c~1d"],
        ),
        (json!({"a": {"b": 1}}), json!({"a": null}), vec!["/a"]),
        (json!({"a": [1, 2]}), json!({"a": [2, 1]}), vec!["/a"]),
    ];
    for (one, other, places) in cases {
        assert_eq!(clashes(&one, &other), places, "{one} {other}");
    }
    let first = change(json!({"extra": {"racks": "1"}, "overrides": []}));
    let then = change(json!({"job": {"extra": {"racks": "2"}}, "overrides": [{"line": "a"}]}));
    assert_eq!(first.clashes(&then), ["/job/extra/racks", "/overrides"]);
}

#[test]
fn entries_of_a_list_are_compared_by_what_they_are_called() {
    let from = json!({"walls": [{"name": "north", "r": 1}, {"name": "south", "r": 2}, {"name": "east", "r": 3}],
        "results": [{"name": "through", "title": "door", "v": 1}, {"name": "through", "title": "wall", "v": 2}],
        "legs": [{"l": 1}, {"l": 2}], "codes": [{"code": "a"}, {"code": "a"}]});
    let to = json!({"walls": [{"name": "door", "r": 9}, {"name": "south", "r": 4}, {"name": "north", "r": 1}],
        "results": [{"name": "through", "title": "wall", "v": 2}, {"name": "through", "title": "door", "v": 5}],
        "legs": [{"l": 1}, {"l": 3}], "codes": [{"code": "a"}]});
    let told: Vec<_> = named_differences(&from, &to)
        .into_iter()
        .map(|place| (place.pointer, place.from.is_some(), place.to.is_some()))
        .collect();
    let wanted = [
        ("/walls/0", false, true),
        ("/walls/1/r", true, true),
        ("/walls/2", true, false),
        ("/results/1/v", true, true),
        ("/legs/1/l", true, true),
        ("/codes/1", true, false),
    ];
    let wanted = wanted.map(|(pointer, from, to)| (pointer.to_owned(), from, to));
    assert_eq!(told, wanted);
    // The same entries in another order are the same.
    assert_eq!(
        named_differences(&from["results"], &json!([from["results"][1], from["results"][0]])),
        []
    );
}

#[test]
fn differences_name_the_smallest_place_and_keep_a_measure_whole() {
    let from = json!({"a": {"value": "3", "unit": "ft"}, "b": [1, 2], "c": {"d": 1}, "e": 1});
    let to = json!({"a": {"value": "3", "unit": "m"}, "b": [1, 3, 4], "c": {"d": 1, "f": 2}, "g": null});
    let told: Vec<_> = differences(&from, &to)
        .into_iter()
        .map(|place| (place.pointer, place.from, place.to))
        .collect();
    let place = |pointer: &str, from, to| (pointer.to_owned(), from, to);
    assert_eq!(
        told,
        [
            place(
                "/a",
                Some(json!({"value": "3", "unit": "ft"})),
                Some(json!({"value": "3", "unit": "m"}))
            ),
            place("/b/1", Some(json!(2)), Some(json!(3))),
            place("/b/2", None, Some(json!(4))),
            place("/c/f", None, Some(json!(2))),
            place("/e", Some(json!(1)), None),
            place("/g", None, Some(Value::Null)),
        ]
    );
}

/// Objects over few names, so that two of them often meet.
fn patches() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        Just(json!(1)),
        Just(json!("x")),
        Just(json!([1]))
    ];
    let inner = leaf.prop_recursive(3, 16, 3, |inner| {
        prop::collection::vec(("[abc]", inner), 0..4)
            .prop_map(|members| Value::Object(members.into_iter().collect::<Map<_, _>>()))
    });
    prop::collection::vec(("[abc]", inner), 0..4)
        .prop_map(|members| Value::Object(members.into_iter().collect::<Map<_, _>>()))
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn patches_without_a_clash_may_come_in_either_order(target in patches(), one in patches(), other in patches()) {
        let forth = patched(&patched(&target, &one), &other);
        let back = patched(&patched(&target, &other), &one);
        if clashes(&one, &other).is_empty() {
            prop_assert_eq!(forth, back);
        }
        prop_assert_eq!(clashes(&one, &other).len(), clashes(&other, &one).len());
    }

    #[test]
    fn a_patch_twice_is_a_patch_once(target in documents(), patch in patches()) {
        let once = patched(&target, &patch);
        prop_assert_eq!(patched(&once, &patch), once);
    }

    #[test]
    fn inputs_and_patch_in_one_change_do_as_one_after_the_other(target in patches(), job in patches(), extra in patches()) {
        let request = json!({"job": target});
        let together = change(json!({"job": job, "extra": extra})).apply(&request);
        let apart = change(json!({"extra": extra})).apply(&change(json!({"job": job})).apply(&request));
        prop_assert_eq!(together, apart);
    }

    #[test]
    fn no_difference_means_the_same_document(from in documents(), to in documents()) {
        prop_assert_eq!(differences(&from, &to).is_empty(), from == to);
        prop_assert!(differences(&from, &from).is_empty());
    }
}
