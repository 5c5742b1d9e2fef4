//! The text of a rulebook: written and read again it is the same, formatted it keeps its comments, and one part is
//! edited without touching the rest.

use estimate::rules::rulebook::{EditFault, PartKind, format_toml, parse_tree, put_part, remove_part};
use estimate::rules::{Rulebook, parse_toml, to_toml};
use proptest::prelude::*;
use serde_json::{Value, json};

use crate::demo::text;

fn tree(rules: &Rulebook) -> Value {
    serde_json::to_value(rules).unwrap()
}

fn read(text: &str) -> Rulebook {
    parse_toml(text).unwrap_or_else(|findings| panic!("{}", estimate::rules::render(&findings, "text", text)))
}

fn seed() -> String {
    text("rulebook.toml")
}

/// Any text that a rulebook may hold, with what is hard to write: quotes, backslashes, breaks, signs of TOML.
fn any_text() -> impl Strategy<Value = String> {
    prop_oneof![
        3 => "[a-z][a-z_]{0,12}",
        1 => "[ -~]{0,40}",
        1 => "(\"|'|\\\\|\n|\t|\r|#|=|\\[|\\]|\u{e9}|\u{7f}|\u{1}|\u{1f9ca}| ){0,12}",
    ]
}

fn maybe(text: impl Strategy<Value = String>) -> impl Strategy<Value = Option<String>> {
    proptest::option::of(text)
}

/// An object of the members that are there.
fn object(members: Vec<(&str, Option<Value>)>) -> Value {
    let there = members
        .into_iter()
        .filter_map(|(name, value)| Some((name.to_owned(), value?)));
    Value::Object(there.collect())
}

fn any_answer() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        any_text().prop_map(Value::from),
        any::<bool>().prop_map(Value::from),
        any::<i64>().prop_map(Value::from),
    ];
    leaf.prop_recursive(4, 24, 4, |inner| {
        prop_oneof![
            proptest::collection::vec(inner.clone(), 0..4).prop_map(Value::from),
            proptest::collection::vec((any_text(), inner), 0..4)
                .prop_map(|members| Value::Object(members.into_iter().collect())),
        ]
    })
}

fn any_line() -> impl Strategy<Value = Value> {
    let material = (
        any_text(),
        any_text(),
        maybe(any_text()),
        any::<bool>(),
        any::<bool>(),
    );
    let material = material.prop_map(|(item, quantity, waste, one_piece, from)| {
        let source = if from { "item_from" } else { "item" };
        object(vec![
            ("kind", Some(json!("material"))),
            (source, Some(item.into())),
            ("quantity", Some(quantity.into())),
            ("waste", waste.map(Value::from)),
            ("one_piece", Some(one_piece.into())),
        ])
    });
    let labour = (
        any_text(),
        any_text(),
        proptest::collection::vec(any_text(), 0..3),
        maybe(any_text()),
    );
    let labour = labour.prop_map(|(task, hours, factors, crew)| {
        object(vec![
            ("kind", Some(json!("labour"))),
            ("task", Some(task.clone().into())),
            ("title", Some(task.into())),
            ("class", Some(json!("helper"))),
            ("hours", Some(hours.into())),
            ("crew", crew.map(Value::from)),
            ("factors", Some(factors.into())),
        ])
    });
    let fee = (any_text(), any_text(), maybe(any_text())).prop_map(|(title, amount, note)| {
        object(vec![
            ("kind", Some(json!("fee"))),
            ("title", Some(title.into())),
            ("cost_code", Some(json!("PRM"))),
            ("tax_category", Some(json!("services"))),
            ("amount", Some(amount.into())),
            ("note", note.map(Value::from)),
        ])
    });
    prop_oneof![material, labour, fee]
}

fn any_table() -> impl Strategy<Value = Value> {
    let rows = proptest::collection::vec(proptest::collection::vec(any_text(), 1..4), 0..4);
    (any_text(), maybe(any_text()), rows, any::<bool>()).prop_map(|(name, source, rows, clamp)| {
        object(vec![
            ("name", Some(name.into())),
            ("value", Some(json!("h"))),
            (
                "keys",
                Some(json!([
                    {"name": "a", "match": "equal", "of": "unit.class"},
                    {"name": "b", "match": "up_to", "unit": "lb"},
                    {"name": "c", "match": "interpolate", "unit": "ft", "clamp": clamp},
                ])),
            ),
            ("rows", Some(rows.into())),
            ("source", source.map(Value::from)),
        ])
    })
}

fn any_example() -> impl Strategy<Value = Value> {
    let request = proptest::collection::vec((any_text(), any_answer()), 0..4);
    (any_text(), request, any_text(), any::<bool>()).prop_map(|(title, request, figure, in_file)| {
        let request = Value::Object(request.into_iter().collect());
        object(vec![
            ("title", Some(title.into())),
            ("job", in_file.then(|| json!("jobs/one.json"))),
            (
                "request",
                (!in_file).then(|| json!({"priced_on": "2025-04-14", "job": {"cellar": request}})),
            ),
            (
                "expect",
                Some(json!([
                    {"line": "material:A", "quantity": figure, "unit": "ft"},
                    {"line": "labour:A/b", "hours": figure},
                    {"line": "labour:A/b", "price": figure},
                    {"present": figure}, {"absent": figure}, {"total": figure}, {"total_hours": figure},
                    {"caution": figure}, {"stop": figure}, {"missing": figure},
                ])),
            ),
        ])
    })
}

prop_compose! {
    fn any_rulebook()(
        (id, title) in (any_text(), any_text()),
        codes in proptest::collection::vec(any_text(), 0..3),
        max_factor in maybe(any_text()),
        lines in proptest::collection::vec(proptest::collection::vec(any_line(), 0..4), 0..3),
        (code, when) in (any_text(), maybe(any_text())),
        tables in proptest::collection::vec(any_table(), 0..3),
        examples in proptest::collection::vec(any_example(), 0..2),
        answer in any_answer(),
        words in proptest::collection::vec(any_text(), 0..3),
    ) -> Value {
        let one = |members: Vec<(&str, Option<Value>)>| json!([object(members)]);
        let text = || Some(Value::from(code.clone()));
        let when = || when.clone().map(Value::from);
        let assemblies: Vec<Value> = lines.into_iter().map(|lines| object(vec![
            ("code", text()), ("title", text()), ("section", text()), ("when", when()), ("line", Some(lines.into())),
        ])).collect();
        object(vec![
            ("id", Some(id.into())),
            ("title", Some(title.into())),
            ("adopted_codes", Some(codes.into())),
            ("max_factor", max_factor.map(Value::from)),
            ("inputs", Some(one(vec![("name", text()), ("title", text()), ("type", Some(json!("choice"))), ("words", Some(words.into())), ("when", when())]))),
            ("tables", Some(tables.into())),
            ("derived", Some(one(vec![("name", text()), ("unit", text()), ("formula", text()), ("source", when())]))),
            ("factors", Some(one(vec![("name", text()), ("title", text()), ("when", text()), ("add", text())]))),
            ("assemblies", Some(assemblies.into())),
            ("checks", Some(one(vec![("code", text()), ("level", Some(json!("stop"))), ("when", text()), ("message", text())]))),
            ("unknowns", Some(json!([
                {"answer": "/a", "treat": "assume", "value": answer, "wording": code},
                {"answer": "/c", "treat": "stop", "when": code, "wording": code},
                {"answer": "/b", "treat": "allowance", "wording": code, "amount": code, "cost_code": code, "tax_category": code},
            ]))),
            ("completeness", Some(one(vec![("code", text()), ("title", text()), ("covered_by", Some(json!([code]))), ("when", when())]))),
            ("exclusions", Some(one(vec![("code", text()), ("text", text()), ("when", when())]))),
            ("examples", Some(examples.into())),
        ])
    }
}

proptest! {
    #[test]
    fn what_is_written_and_read_again_is_the_same(given in any_rulebook()) {
        let rules = parse_tree(&given).unwrap_or_else(|faults| panic!("{faults:#?}\n{given:#}"));
        let whole = tree(&rules);
        let text = to_toml(&rules);
        prop_assert_eq!(rules.source(), text.as_str());
        prop_assert_eq!(&tree(&read(&text)), &whole, "through TOML");
        prop_assert_eq!(&tree(&parse_tree(&whole).unwrap()), &whole, "through JSON");
        prop_assert_eq!(format_toml(&text).unwrap(), text, "canonical text is canonical");
    }

    #[test]
    fn a_part_that_is_put_back_changes_nothing_but_its_spelling(pick in any::<prop::sample::Index>()) {
        let text = seed();
        let rules = read(&text);
        let names = rules.parts();
        let part = pick.get(&names);
        let value = rules.part(part.kind, &part.name).unwrap();
        let after = put_part(&text, part.kind, &part.name, &value).unwrap();
        prop_assert_eq!(tree(&read(&after)), tree(&rules));
        let lines = |text: &str| text.lines().filter(|line| line.starts_with('#')).map(str::to_owned).collect::<Vec<_>>();
        prop_assert_eq!(lines(&after), lines(&text), "every comment stays in its order");
    }
}

#[test]
fn the_demonstration_is_the_same_through_toml_and_json() {
    let rules = read(&seed());
    let whole = tree(&rules);
    assert_eq!(tree(&read(&to_toml(&rules))), whole);
    assert_eq!(tree(&parse_tree(&whole).unwrap()), whole);
}

/// The default of a flag is written as the word that it is; a choice of the word `true` keeps its quotes.
#[test]
fn the_default_of_a_flag_has_no_quotes() {
    let input = |rest: &str| {
        let head = "[rulebook]\nid = 'a'\ntitle = 'A'\n[[input]]\nname = 'x'\ntitle = 'X'\n";
        format_toml(&format!("{head}{rest}\n")).unwrap()
    };
    for default in ["false", "'false'", "\"false\""] {
        let text = input(&format!("type = 'flag'\ndefault = {default}"));
        assert!(text.contains("\ndefault = false\n"), "{text}");
        assert_eq!(format_toml(&text).unwrap(), text);
    }
    let text = input("type = 'choice'\nwords = ['true', 'b']\ndefault = 'true'");
    assert!(text.contains("\ndefault = \"true\"\n"), "{text}");
}

#[test]
fn a_format_keeps_every_comment_once_and_changes_no_rule() {
    let text = seed();
    let formatted = format_toml(&text).unwrap();
    assert_eq!(tree(&read(&formatted)), tree(&read(&text)));
    assert_eq!(format_toml(&formatted).unwrap(), formatted);
    let comments = |text: &str| {
        let lines = text.lines().map(str::trim).filter(|line| line.starts_with('#'));
        let mut lines: Vec<_> = lines.map(str::to_owned).collect();
        lines.sort();
        lines
    };
    assert_eq!(comments(&formatted), comments(&text));
}

const COMMENTED: &str = r#"# Head of the file.

# Of the rulebook.
[rulebook] # behind the header
id = "small" # behind the name
title = "Small"

# --- Tables ---

# Above the table.
[[table]]
rows = [ # first
  # above a row
  ["a", "1"], # behind a row
  ["b", "2"],
  # at the end
]
name = "rate"
keys = [{ name = "k", of = "space" }]
value = "h"

# --- Rules ---

# Above the assembly.
[[assembly]]
code = "A"
title = "A"
section = "S"
# Above the line.
[[assembly.line]]
kind = "labour"
# Above the hours.
hours = 2 # behind the hours
task = "t"
title = "T"
class = "helper"

# The end.
"#;

const FORMATTED: &str = r#"# Head of the file.

# Of the rulebook.
[rulebook] # behind the header
id = "small" # behind the name
title = "Small"

# --- Tables ---

# Above the table.
[[table]]
name = "rate"
value = "h"
keys = [{ name = "k", match = "equal", of = "space" }]
rows = [ # first
  # above a row
  ["a", "1"], # behind a row
  # at the end
  ["b", "2"],
]

# --- Rules ---

# Above the assembly.
[[assembly]]
code = "A"
title = "A"
section = "S"

# Above the line.
[[assembly.line]]
kind = "labour"
task = "t"
title = "T"
class = "helper"
# Above the hours.
hours = "2" # behind the hours

# The end.
"#;

#[test]
fn comments_stand_where_they_stood() {
    assert_eq!(format_toml(COMMENTED).unwrap(), FORMATTED);
    assert_eq!(format_toml(FORMATTED).unwrap(), FORMATTED);
}

#[test]
fn a_part_is_replaced_and_the_rest_stays_byte_for_byte() {
    let rules = read(COMMENTED);
    let mut line = rules.part(PartKind::Line, "A/1").unwrap();
    line["hours"] = json!("3");
    let after = put_part(COMMENTED, PartKind::Line, "A/1", &line).unwrap();
    let (before, rest) = COMMENTED.split_once("[[assembly.line]]").unwrap();
    assert!(after.starts_with(before), "{after}");
    assert!(after.ends_with(rest.rsplit_once('\n').unwrap().1), "{after}");
    let own = &after[before.len()..];
    assert_eq!(
        own,
        "[[assembly.line]]\nkind = \"labour\"\ntask = \"t\"\ntitle = \"T\"\nclass = \"helper\"\n\
         # Above the hours.\nhours = \"3\" # behind the hours\n\n# The end.\n"
    );
}

#[test]
fn a_part_is_added_behind_the_last_of_its_sort() {
    let fee = json!({"kind": "fee", "title": "Permit", "cost_code": "PRM", "tax_category": "services", "amount": "90"});
    let after = put_part(COMMENTED, PartKind::Line, "A/2", &fee).unwrap();
    assert_eq!(read(&after).part(PartKind::Line, "A/2").unwrap(), fee);
    let bare = json!({"code": "B", "title": "B", "section": "S"});
    let after = put_part(&after, PartKind::Assembly, "B", &bare).unwrap();
    let after = put_part(&after, PartKind::Line, "B/1", &fee).unwrap();
    let check = json!({"code": "c", "level": "stop", "when": "true", "message": "m"});
    let after = put_part(&after, PartKind::Check, "c", &check).unwrap();
    let table = json!({"name": "second", "value": "h", "keys": [], "rows": []});
    let after = put_part(&after, PartKind::Table, "second", &table).unwrap();
    let rules = read(&after);
    assert_eq!(rules.part(PartKind::Line, "B/1"), Some(fee));
    assert_eq!(
        rules.assemblies.iter().map(|a| a.lines.len()).collect::<Vec<_>>(),
        [2, 1]
    );
    assert_eq!(rules.part(PartKind::Check, "c"), Some(check));
    assert!(
        after.find("name = \"second\"").unwrap() < after.find("# --- Rules ---").unwrap(),
        "{after}"
    );
    for kept in COMMENTED.lines() {
        assert!(after.contains(kept), "{kept} is gone:\n{after}");
    }
    // Nothing stands between lines that would leave a gap.
    let far = put_part(
        &after,
        PartKind::Line,
        "B/3",
        &json!({"kind": "fee", "title": "-", "cost_code": "-", "tax_category": "-", "amount": "1"}),
    );
    assert!(matches!(far, Err(EditFault::NoSuch { .. })));
    assert!(matches!(
        put_part(
            &after,
            PartKind::Line,
            "Z/1",
            &json!({"kind": "fee", "title": "-", "cost_code": "-", "tax_category": "-", "amount": "1"})
        ),
        Err(EditFault::NoSuch { .. })
    ));
}

#[test]
fn a_part_is_taken_out_with_its_own_comment_alone() {
    let after = remove_part(COMMENTED, PartKind::Table, "rate").unwrap();
    assert!(after.contains("# --- Tables ---"), "{after}");
    assert!(!after.contains("# Above the table."), "{after}");
    assert!(after.find("# --- Tables ---").unwrap() < after.find("# --- Rules ---").unwrap());
    assert!(read(&after).tables.is_empty());
    let after = remove_part(&after, PartKind::Assembly, "A").unwrap();
    assert!(
        after.contains("# --- Rules ---") && after.contains("# The end."),
        "{after}"
    );
    assert!(read(&after).assemblies.is_empty());
    assert!(matches!(
        remove_part(&after, PartKind::Assembly, "A"),
        Err(EditFault::NoSuch { .. })
    ));
    let lineless = remove_part(COMMENTED, PartKind::Line, "A/1").unwrap();
    assert!(read(&lineless).assemblies[0].lines.is_empty());
}

#[test]
fn every_part_of_the_demonstration_can_be_taken_out() {
    let text = seed();
    let rules = read(&text);
    for part in rules.parts().iter().step_by(23) {
        let after = remove_part(&text, part.kind, &part.name).unwrap();
        let left = read(&after).parts().len();
        let below = match part.kind {
            PartKind::Assembly => rules
                .assemblies
                .iter()
                .find(|a| *a.code == *part.name)
                .unwrap()
                .lines
                .len(),
            _ => 0,
        };
        assert_eq!(left, rules.parts().len() - 1 - below, "{part:?}");
    }
}

#[test]
fn parts_in_brackets_are_edited_too() {
    let text = "check = [{ code = \"a\", level = \"stop\", when = \"true\", message = \"m\" }]\n[rulebook]\nid = \"x\"\ntitle = \"x\"\n";
    let check = json!({"code": "a", "level": "caution", "when": "true", "message": "m"});
    let after = put_part(text, PartKind::Check, "a", &check).unwrap();
    assert_eq!(read(&after).part(PartKind::Check, "a"), Some(check));
}

#[test]
fn a_tree_is_refused_with_every_fault_at_its_pointer() {
    let mut tree = tree(&read(COMMENTED));
    tree["assemblies"][0]["line"][0]["kind"] = json!("labor");
    tree["assemblies"][0]["sectoin"] = json!("x");
    tree["tables"][0]["keys"][0]["of"] = json!(5);
    tree["tables"][0]["rows"][1][0] = json!(null);
    tree["checks"] = json!([{"code": "c", "level": "stop", "when": "true"}, 7]);
    tree["exclusions"] = json!("none");
    tree["derivd"] = json!([]);
    let faults = parse_tree(&tree).unwrap_err();
    let mut pointers: Vec<(&str, &str)> = faults
        .iter()
        .map(|fault| (fault.pointer.as_str(), fault.code))
        .collect();
    pointers.sort_unstable();
    assert_eq!(
        pointers,
        [
            ("/assemblies/0/line/0/kind", "unknown_word"),
            ("/assemblies/0/sectoin", "unknown_field"),
            ("/checks/0/message", "missing_field"),
            ("/checks/1", "wrong_sort"),
            ("/derivd", "unknown_field"),
            ("/exclusions", "wrong_sort"),
            ("/tables/0/keys/0", "key"),
            ("/tables/0/keys/0/of", "wrong_sort"),
            ("/tables/0/rows/1/0", "wrong_sort"),
        ],
        "{faults:#?}"
    );
    assert_eq!(parse_tree(&json!([])).unwrap_err()[0].pointer, "");
    let faults = put_part(
        COMMENTED,
        PartKind::Line,
        "A/1",
        &json!({"kind": "fee", "title": "T", "cost_code": 5}),
    )
    .unwrap_err();
    let EditFault::Part(faults) = faults else {
        panic!("{faults:?}")
    };
    let mut pointers: Vec<&str> = faults.iter().map(|fault| fault.pointer.as_str()).collect();
    pointers.sort_unstable();
    assert_eq!(pointers, ["/amount", "/cost_code", "/tax_category"]);
}
