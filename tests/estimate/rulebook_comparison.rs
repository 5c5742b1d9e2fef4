//! Two rulebooks compared by meaning: what is spelled otherwise is no difference, what says something else is
//! told with part, field, before and after.

use super::demo::text;
use super::rules_sample::with_head;
use estimate::rules::comparison::{Fate, PartChange, PartSort, RulebookComparison};
use estimate::rules::{Rulebook, parse_toml};
use serde_json::{Value, json};

fn book(text: &str) -> Rulebook {
    parse_toml(text).unwrap_or_else(|findings| panic!("{findings:#?}"))
}

fn compare(before: &str, after: &str) -> Vec<PartChange> {
    RulebookComparison::between(&book(before), &book(after)).changes
}

/// The only change between two rulebooks of the sample's head and more, as JSON.
fn change(before: &str, after: &str) -> Value {
    let changes = compare(&with_head(before), &with_head(after));
    assert_eq!(changes.len(), 1, "{changes:#?}");
    serde_json::to_value(&changes[0]).unwrap()
}

const ASSEMBLY: &str = "
[[assembly]]
code = 'HANG'
title = 'Hanging'
section = 'Unit'
when = 'unit.mounting = flush'
[[assembly.line]]
kind = 'material'
item = 'TUBE-58'
quantity = 'lines * 1.05'
[[assembly.line]]
kind = 'labour'
task = 'hang'
title = 'Hang the unit'
class = 'apprentice'
hours = 'mount_hours[unit.mounting, site.ceiling_height]'
";

/// Every formula of a rulebook in brackets, assemblies and names of lists the other way round.
fn respelled(text: &str) -> String {
    let mut file: toml::Table = text.parse().unwrap();
    for (name, list) in &mut file {
        let Some(parts) = list.as_array_mut() else {
            continue;
        };
        for part in parts.iter_mut() {
            let part = part.as_table_mut().unwrap();
            bracket(part);
            if name == "assembly" {
                let lines = part["line"].as_array_mut().unwrap();
                lines
                    .iter_mut()
                    .for_each(|line| bracket(line.as_table_mut().unwrap()));
                lines.reverse();
            }
        }
        // Of tables the order of rows may count; of everything else order says nothing.
        parts.reverse();
    }
    toml::to_string(&file).unwrap()
}

fn bracket(part: &mut toml::Table) {
    for field in [
        "when",
        "formula",
        "quantity",
        "hours",
        "item_from",
        "add",
        "crew",
        "waste",
    ] {
        if let Some(toml::Value::String(formula)) = part.get_mut(field) {
            *formula = format!(" ( {} ) ", formula.replace(" and ", "  and ").replace(", ", ","));
        }
    }
    if let Some(toml::Value::Array(factors)) = part.get_mut("factors") {
        factors.reverse();
    }
}

#[test]
fn a_rulebook_spelled_otherwise_says_the_same() {
    let seed = text("rulebook.toml");
    let other = respelled(&seed);
    assert_ne!(seed, other);
    assert_eq!(compare(&seed, &other), []);
    assert!(RulebookComparison::between(&book(&seed), &book(&other)).is_empty());
}

#[test]
fn figures_words_and_what_is_left_out_are_compared_by_what_they_say() {
    let same = |before: &str, after: &str| {
        let with = |text: &str| with_head(&ASSEMBLY.replace("'lines * 1.05'", text));
        compare(&with(before), &with(after)).is_empty()
    };
    assert!(same("'lines * 1.05'", "'(lines)*1.050'"));
    assert!(same("'lines * 1.05'", "\"lines * 1.05\"\nwaste = 0"));
    assert!(same("'1 ft'", "'ft'"));
    assert!(same("'lines * 5 %'", "'lines * 0.05'"));
    assert!(same(
        "'if unit.mounting = flush then 1 ft else 2 ft'",
        "'if unit.mounting = \"flush\" then 1 ft else 2 ft'"
    ));
    assert!(same(
        "'if (true and false) and true then 1 ft else 2 ft'",
        "'if true and (false and true) then 1 ft else 2 ft'"
    ));
    assert!(!same("'lines * 1.05'", "'1.05 * lines'"));
    assert!(!same("'lines - (1 ft - 1 ft)'", "'lines - 1 ft - 1 ft'"));
    assert!(!same("'12 in'", "'1 ft'"));
}

#[test]
fn a_changed_line_is_told_with_field_before_and_after() {
    let told = change(ASSEMBLY, &ASSEMBLY.replace("1.05", "1.10"));
    assert_eq!(
        told,
        json!({
            "part": "line", "name": "material:TUBE-58", "assembly": "HANG", "fate": "changed",
            "fields": [{"field": "quantity", "before": "lines * 1.05", "after": "lines * 1.10"}],
        })
    );
    let told = change(ASSEMBLY, &ASSEMBLY.replace("'TUBE-58'", "'TUBE-78'"));
    assert_eq!(told["name"], "material:TUBE-78");
    assert_eq!(
        told["fields"],
        json!([{"field": "item", "before": "TUBE-58", "after": "TUBE-78"}])
    );
    let told = change(
        ASSEMBLY,
        &ASSEMBLY.replace("hours = 'mount", "crew = 2\nhours = 'mount"),
    );
    assert_eq!(told["fields"], json!([{"field": "crew", "after": "2"}]));
    let more =
        format!("{ASSEMBLY}[[assembly.line]]\nkind = 'material'\nitem = 'CLAMP'\nquantity = '2 each'\n");
    let told = change(ASSEMBLY, &more);
    assert_eq!(
        (&told["fate"], &told["after"]["quantity"]),
        (&json!("added"), &json!("2 each"))
    );
    let told = change(&more, ASSEMBLY);
    assert_eq!(
        (&told["fate"], &told["before"]["item"]),
        (&json!("removed"), &json!("CLAMP"))
    );
}

#[test]
fn of_an_assembly_its_own_fields_and_its_lines_are_told_apart() {
    let after = ASSEMBLY.replace("flush", "exposed").replace("1.05", "1.2");
    let changes = compare(&with_head(ASSEMBLY), &with_head(&after));
    let told: Vec<_> = changes
        .iter()
        .map(|change| (change.part, change.name.as_str(), change.fields[0].field.as_str()))
        .collect();
    assert_eq!(
        told,
        [
            (PartSort::Assembly, "HANG", "when"),
            (PartSort::Line, "material:TUBE-58", "quantity"),
        ]
    );
    let told = change("", ASSEMBLY);
    assert_eq!(
        (&told["part"], &told["fate"]),
        (&json!("assembly"), &json!("added"))
    );
    assert_eq!(told["after"]["line"][1]["task"], "hang");
}

#[test]
fn a_cell_is_told_by_its_keys_and_an_order_of_rows_where_it_decides() {
    let head = |rows: &str| {
        format!(
            "[[table]]\nname = 'trial'\nvalue = 'h'\nkeys = [{{ name = 'mounting', of = 'mounting' }}, \
             {{ name = 'occupied', of = 'site.occupied' }}]\nrows = [{rows}]\n"
        )
    };
    let (special, other, general) = ("['flush','any','3']", "['any','true','2']", "['any','any','1']");
    let before = head(&format!("{special},{other},{general}"));
    let told = change(
        &before,
        &head(&format!("{special},['any','true','2.50'],{general}")),
    );
    assert_eq!(
        told["rows"],
        json!([{"keys": {"mounting": "any", "occupied": "true"}, "fate": "changed", "before": "2", "after": "2.50"}])
    );
    assert_eq!(told.get("fields"), None);
    let turned = change(&before, &head(&format!("{other},{special},{general}")));
    assert_eq!(turned["fields"][0]["field"], "order_of_rows");
    assert_eq!(turned["fields"][0]["before"][0]["mounting"], "flush");
    assert_eq!(turned["fields"][0]["after"][0]["mounting"], "any");
    // Rows that never both apply may stand in any order.
    let apart = [
        head("['flush','true','3'],['exposed','true','2']"),
        head("['exposed','true','2.0'],['flush','true','3']"),
    ];
    assert_eq!(compare(&with_head(&apart[0]), &with_head(&apart[1])), []);
    let gone = change(&before, &head(&format!("{special},{general}")));
    assert_eq!(
        (&gone["rows"][0]["fate"], &gone["rows"][0]["before"]),
        (&json!("removed"), &json!("2"))
    );
}

#[test]
fn every_sort_of_part_is_compared() {
    let parts = [
        (
            "input",
            "[[input]]\nname = 'n'\ntitle = 'N'\ntype = 'number'\nmin = '0'\nmax = '9'\n",
            "max = '9'",
            "max = '8'",
        ),
        (
            "derived",
            "[[derived]]\nname = 'd'\nunit = 'ft'\nformula = '1 ft'\n",
            "'1 ft'",
            "'2 ft'",
        ),
        (
            "factor",
            "[[factor]]\nname = 'f'\ntitle = 'F'\nwhen = 'site.occupied'\nadd = '10 %'\n",
            "'10 %'",
            "'20 %'",
        ),
        (
            "check",
            "[[check]]\ncode = 'c'\nlevel = 'caution'\nwhen = 'true'\nmessage = 'Now {lines}.'\n",
            "{lines}",
            "{2 * lines}",
        ),
        (
            "unknown",
            "[[unknown]]\nanswer = '/a'\ntreat = 'assume'\nvalue = { value = '4', unit = 'ft' }\nwording = 'W'\n",
            "'4'",
            "'5'",
        ),
        (
            "completeness",
            "[[completeness]]\ncode = 'c'\ntitle = 'T'\ncovered_by = ['A', 'B']\n",
            "'B'",
            "'C'",
        ),
        (
            "exclusion",
            "[[exclusion]]\ncode = 'e'\ntext = 'Nothing.'\n",
            "Nothing",
            "Something",
        ),
        (
            "example",
            "[[example]]\ntitle = 't'\njob = 'j.json'\nexpect = [{ total = '10.00' }, { absent = 'a' }]\n",
            "'10.00'",
            "'11.00'",
        ),
    ];
    for (sort, part, from, to) in parts {
        let after = part.replace(from, to);
        assert_ne!(part, after);
        let told = change(part, &after);
        assert_eq!((&told["part"], &told["fate"]), (&json!(sort), &json!("changed")));
        assert_eq!(told["fields"].as_array().unwrap().len(), 1, "{told}");
        let (added, removed) = (change("", part), change(part, ""));
        assert_eq!((&added["part"], &added["fate"]), (&json!(sort), &json!("added")));
        assert_eq!(
            (&removed["part"], &removed["fate"]),
            (&json!(sort), &json!("removed"))
        );
        assert_eq!(added["after"], removed["before"]);
    }
    let titled = with_head("").replace("Sample rules", "Other rules");
    let told = compare(&with_head(""), &titled);
    assert_eq!((told[0].part, told[0].fate), (PartSort::Head, Fate::Changed));
    let respelled = with_head(&parts.map(|(_, part, ..)| part).concat())
        .replace("['A', 'B']", "['B', 'A']")
        .replace("'10.00' }, { absent = 'a' }", "'10' }, { absent = 'a' }")
        .replace("{lines}", "{(lines)}");
    assert_eq!(
        compare(&with_head(&parts.map(|(_, part, ..)| part).concat()), &respelled),
        []
    );
}

#[test]
fn a_draft_with_a_name_twice_or_a_formula_that_is_none_is_compared_as_well() {
    let twice = format!("{ASSEMBLY}{ASSEMBLY}");
    assert_eq!(compare(&with_head(&twice), &with_head(&twice)), []);
    let told = change(&twice, ASSEMBLY);
    assert_eq!(
        (&told["part"], &told["fate"]),
        (&json!("assembly"), &json!("removed"))
    );
    let broken = ASSEMBLY.replace("lines * 1.05", "lines *");
    let told = change(ASSEMBLY, &broken);
    assert_eq!(told["fields"][0]["after"], "lines *");
}
