//! What the check decides over choices and bounds: conditions, purchases, look-ups, prices.

use super::demo::{Demo, catalogue, text};
use super::rules_bounds::{bounded, likely};
use super::rules_sample::{facts, quoted, with_head};
use chrono::NaiveDate;
use estimate::catalogue::Catalogue;
use estimate::catalogue::prices::PriceBook;
use estimate::rules::{Finding, RunInput, Severity, check_toml};
use proptest::prelude::*;

fn findings(text: &str) -> Vec<Finding> {
    match check_toml(text, &bounded()) {
        Ok((_, checked)) => checked.warnings,
        Err(findings) => findings,
    }
}

/// Code, place and part of every finding but what is not used.
fn told(text: &str) -> Vec<(&'static str, String, String)> {
    let told = findings(text)
        .into_iter()
        .filter(|finding| finding.code != "unused");
    told.map(|finding| (finding.code, finding.span.of(text).to_owned(), finding.part))
        .collect()
}

fn verdict(condition: &str) -> Option<&'static str> {
    let text = with_head(&format!(
        "[[derived]]\nname = 'high'\nunit = 'flag'\nformula = 'site.ceiling_height > 20 ft'\n\
         [[derived]]\nname = 'reach'\nunit = 'ft'\nformula = 'if high then 30 ft else line_set.length + 2 ft'\n\
         [[derived]]\nname = 'next_size'\nunit = 'tube_size'\nformula = 'size_up[line_set.suction_size]'\n\
         [[check]]\ncode = 'c'\nlevel = 'caution'\nwhen = {}\nmessage = 'M'\n",
        quoted(condition)
    ));
    // A table that is looked up by this condition alone may have rows that it never comes to.
    let mut told = told(&text);
    told.retain(|(code, ..)| *code != "never_looked_up");
    assert!(told.len() < 2, "{told:?}");
    told.first().map(|(code, place, _)| {
        assert_eq!(*place, quoted(condition));
        *code
    })
}

#[test]
fn conditions_are_decided_over_bounds_choices_derived_values_and_tables() {
    for condition in [
        // Bounds of the form, in any unit and through arithmetic.
        "site.ceiling_height > 60 ft",
        "site.ceiling_height < 48 in",
        "2 * site.ceiling_height + 1 ft > 40 yd + 2 ft",
        "site.attic_temperature > 90 degC",
        "max(site.ceiling_height, 70 ft) < 70 ft",
        "round_up(site.ceiling_height, 1 ft) > 61 ft",
        "abs(line_set.length) < 0 ft",
        "unit.count * 1 ft / 1 each < 1 ft",
        "line_set.length / 2 > 500 ft",
        // Derived values.
        "high and site.ceiling_height < 20 ft",
        "not high and reach > 1002 ft",
        "high and reach > 30 ft",
        "reach < 2 ft",
        // Tables: no size is stepped down, and the smallest is never arrived at.
        "next_size = \"1/2\"",
        "size_up[line_set.suction_size] = \"3/4\" and line_set.suction_size <> \"5/8\"",
        "needs_lift[site.occupied, unit.mounting] and site.occupied",
        "mount_hours[unit.mounting, site.ceiling_height] > 5.5 h",
        "unit.mounting = flush and mount_hours[unit.mounting, site.ceiling_height] < 4 h",
        "site.ceiling_height > 12 ft and mount_hours[exposed, site.ceiling_height] < 5 h",
        "lift_share[site.ceiling_height] > 50 %",
        // What is rounded to a step is a multiple of it.
        "round_up(line_set.length, 6 ft) = 7 ft",
        "round_down(line_set.length, 5 ft) = 144 in",
        "7 in = round_up(line_set.length, 6 in)",
        // The same terms on both sides.
        "line_set.length > line_set.length + 1 ft",
        "line_set.length < line_set.length",
        "2 * line_set.length - line_set.rise < line_set.length + line_set.length - line_set.rise - 1 in",
        "line_set.length > line_set.rise and line_set.length - line_set.rise < 0 ft",
        "lines - lines <> 0 ft and lines > lines",
        // Choices.
        "unit.mounting <> flush and unit.mounting <> exposed and unit.mounting <> partly_recessed",
        "(if site.occupied then unit.mounting else exposed) = partly_recessed and not site.occupied",
        "(unit.mounting = flush) <> (unit.mounting = flush)",
    ] {
        assert_eq!(verdict(condition), Some("never_holds"), "{condition}");
    }
    for condition in [
        "site.ceiling_height >= 4 ft",
        "unit.count > 0 each",
        "high or site.ceiling_height <= 20 ft",
        "mount_hours[unit.mounting, site.ceiling_height] >= 3 h",
        "next_size <> \"1/2\"",
        "unit.mounting = flush or unit.mounting = exposed or unit.mounting = partly_recessed",
    ] {
        assert_eq!(verdict(condition), Some("always_holds"), "{condition}");
    }
    for condition in [
        "site.ceiling_height >= 60 ft",
        "site.ceiling_height <= 4 ft",
        "high",
        "high and reach >= 30 ft",
        "reach <= 2 ft",
        "next_size = \"3/4\"",
        "needs_lift[site.occupied, unit.mounting]",
        "mount_hours[unit.mounting, site.ceiling_height] >= 5.5 h",
        "line_set.length = line_set.rise",
        "line_set.length * line_set.rise > 1 ft2",
        "line_set.length >= line_set.rise + 1 ft",
        "line_set.length - line_set.rise > 0 ft and line_set.rise > 500 ft",
        "round_up(line_set.length, 6 ft) = 12 ft",
        "round_up(line_set.length, 6 ft) = 144 in",
        "round_up(line_set.length, 6 ft) > 6 ft",
        "round_down(line_set.length, 6 ft) >= 7 ft",
    ] {
        assert_eq!(verdict(condition), None, "{condition}");
    }
}

const HANG: &str = "[[assembly]]\ncode = 'HANG'\ntitle = 'Hang'\nsection = 'Unit'\nwhen = 'unit.mounting = flush'\n\
    [[assembly.line]]\nkind = 'material'\nitem = 'CLAMP'\nquantity = '2 each'\n";

fn also(when: &str, line: &str) -> String {
    with_head(&format!(
        "{HANG}[[assembly]]\ncode = 'ALSO'\ntitle = 'Also'\nsection = 'Unit'\n{when}\n[[assembly.line]]\nkind = 'material'\n{line}\n"
    ))
}

#[test]
fn a_line_is_told_beside_the_condition_of_its_assembly() {
    let line = "item = 'GAS'\nquantity = '2 oz'\nwhen = 'unit.mounting = exposed'";
    let text = also("when = 'unit.mounting = flush'", line);
    assert_eq!(
        told(&text),
        [(
            "never_holds",
            "'unit.mounting = exposed'".to_owned(),
            "assembly ALSO, line 1".to_owned()
        )]
    );
    let text = also("when = 'unit.mounting = exposed'", line);
    assert_eq!(told(&text)[0].0, "always_holds");
    let finding = findings(&text)
        .into_iter()
        .find(|finding| finding.code == "always_holds");
    assert_eq!(
        finding.unwrap().expected.unwrap(),
        "unit.mounting is one of exposed, partly_recessed, flush"
    );
}

#[test]
fn an_item_is_told_when_one_job_can_buy_it_by_two_assemblies() {
    let clamp = "item = 'CLAMP'\nquantity = '1 each'";
    let twice = |when: &str, line: &str| {
        let text = also(when, line);
        let told = told(&text);
        told.iter()
            .any(|(code, _, part)| *code == "bought_twice" && part == "assembly ALSO, line 1")
    };
    assert!(twice("", clamp));
    assert!(twice("when = 'site.occupied'", clamp));
    assert!(!twice("when = 'unit.mounting = exposed'", clamp));
    assert!(!twice("", &format!("{clamp}\nwhen = 'unit.mounting <> flush'")));
    assert!(!twice("", "item = 'GAS'\nquantity = '1 oz'"));
    let shared = also("", clamp).replace("adopted_codes", "shared_items = ['CLAMP']\nadopted_codes");
    assert_eq!(told(&shared), []);
    let unknown = also("", clamp).replace("adopted_codes", "shared_items = ['CLAMPS']\nadopted_codes");
    assert!(
        findings(&unknown)
            .iter()
            .any(|finding| finding.code == "unknown_item" && finding.suggestion.as_deref() == Some("CLAMP"))
    );
    let idle = also("", clamp).replace("adopted_codes", "shared_items = ['CLAMP', 'GAS']\nadopted_codes");
    assert!(
        findings(&idle)
            .iter()
            .any(|finding| finding.field == "shared_items" && finding.code == "unused")
    );
}

#[test]
fn an_item_that_a_table_finds_is_followed_as_well() {
    let first = "[[assembly]]\ncode = 'ONE'\ntitle = 'One'\nsection = 'Lines'\n[[assembly.line]]\nkind = 'material'\n\
                 item_from = 'tube[line_set.suction_size]'\nquantity = 'lines'\n";
    let second = |when: &str| {
        with_head(&format!(
            "{first}[[assembly]]\ncode = 'TWO'\ntitle = 'Two'\nsection = 'Lines'\nwhen = '{when}'\n\
             [[assembly.line]]\nkind = 'material'\nitem = 'TUBE-78'\nquantity = 'lines'\n"
        ))
    };
    let told = |when: &str| {
        told(&second(when))
            .iter()
            .any(|(code, ..)| *code == "bought_twice")
    };
    assert!(told("line_set.suction_size = \"7/8\""));
    assert!(!told("line_set.suction_size = \"3/4\""));
}

#[test]
fn a_look_up_that_may_leave_its_table_is_refused() {
    let hours = |formula: &str| {
        with_head(&format!(
            "[[derived]]\nname = 'd'\nunit = 'h'\nformula = {}\n",
            quoted(formula)
        ))
    };
    let area = "site.ceiling_height * 1 ft";
    for formula in [
        format!("patch_hours[{area}]"),
        format!("patch_hours[{area} + 60 ft2]"),
        format!("if site.ceiling_height > 65 ft then 1 h else patch_hours[{area} * 2]"),
    ] {
        let text = hours(&formula);
        let found = findings(&text)
            .into_iter()
            .find(|finding| finding.code == "outside_table");
        if formula.contains("* 2") || formula.contains('+') {
            let found = found.unwrap();
            assert_eq!(
                (found.severity, found.part.as_str()),
                (Severity::Error, "derived value d")
            );
            assert!(
                found.span.of(&text).starts_with("patch_hours["),
                "{}",
                found.span.of(&text)
            );
        } else {
            // From 4 to 60 ft, the table from 4 to 64 ft2.
            assert_eq!(found, None, "{formula}");
        }
    }
    for formula in [
        "patch_hours[clamp(cellar.volume / 1 ft, 4 ft2, 64 ft2)]",
        "if cellar.volume >= 4 ft3 and cellar.volume <= 64 ft3 then patch_hours[cellar.volume / 1 ft] else 1 h",
        "lift_share[cellar.volume / 1 ft2] * 1 h",
    ] {
        assert_eq!(told(&hours(formula)), [], "{formula}");
    }
}

#[test]
fn rows_that_no_job_comes_to_and_rows_that_overlap_are_told() {
    let table = |rows: &str, formula: &str| {
        with_head(&format!(
            "[[table]]\nname = 'rates'\nvalue = 'h'\nkeys = [{{ name = 'height', unit = 'ft', match = 'up_to' }}]\n\
             rows = [{rows}]\n[[derived]]\nname = 'd'\nunit = 'h'\nformula = '{formula}'\n"
        ))
    };
    let rows = "['3', '1'], ['9', '2'], ['80', '3'], ['above', '4']";
    assert_eq!(
        told(&table(rows, "rates[site.ceiling_height]")),
        [(
            "never_looked_up",
            "['3', '1']".to_owned(),
            "table rates".to_owned()
        )]
    );
    assert_eq!(told(&table(rows, "rates[line_set.length]")), []);
    let crossing = |rows: &str| {
        with_head(&format!(
            "[[table]]\nname = 'pairs'\nvalue = 'h'\nkeys = [{{ name = 'mounting', of = 'mounting' }}, \
             {{ name = 'occupied', of = 'site.occupied' }}]\nrows = [{rows}]\n"
        ))
    };
    let general_first = "['any', 'true', '1'], ['flush', 'any', '2'], ['any', 'any', '3']";
    let text = crossing(general_first);
    let told_of = told(&text);
    assert_eq!(told_of[0].0, "overlap");
    assert_eq!(told_of[0].1, "['flush', 'any', '2']");
    let finding = findings(&text)
        .into_iter()
        .find(|finding| finding.code == "overlap")
        .unwrap();
    assert_eq!(
        finding.message,
        "this row and row 1 both apply to mounting = flush, occupied = true; row 1 counts, since it comes first"
    );
    let special_first = "['flush', 'true', '1'], ['flush', 'any', '2'], ['any', 'any', '3']";
    assert_eq!(told(&crossing(special_first)), []);
}

#[test]
fn what_only_unused_values_use_is_unused_as_well() {
    let chain = "[[derived]]\nname = 'a'\nunit = 'ft'\nformula = 'lines'\n\
                 [[derived]]\nname = 'b'\nunit = 'ft'\nformula = 'a + 1 ft'\n";
    let unused = |text: &str| -> Vec<String> {
        let found = findings(text)
            .into_iter()
            .filter(|finding| finding.code == "unused");
        found.map(|finding| finding.part).collect()
    };
    let text = with_head(chain);
    for part in ["derived value a", "derived value b", "derived value lines"] {
        assert!(unused(&text).contains(&part.to_owned()), "{part}");
    }
    let read = with_head(&format!(
        "{chain}[[check]]\ncode = 'c'\nlevel = 'caution'\nwhen = 'true'\nmessage = '{{b}}'\n"
    ));
    assert!(unused(&read).iter().all(|part| !part.starts_with("derived")));
}

#[test]
fn items_without_a_price_and_classes_without_a_rate_are_errors_on_that_day() {
    let demo = Demo::load();
    let day = |text: &str| text.parse::<NaiveDate>().unwrap();
    let on = |day: NaiveDate| demo.workbook.unpriced(&PriceBook::on(day, &demo.catalogue));
    assert_eq!(on(day("2025-04-14")), []);
    let before = on(day("1990-01-01"));
    assert!(before.iter().all(|finding| finding.severity == Severity::Error));
    for code in ["no_price", "no_rate"] {
        assert!(before.iter().any(|finding| finding.code == code));
    }

    let rules = text("rulebook.toml");
    let whole = catalogue();
    let mut items = whole.items().to_vec();
    let item = items.iter_mut().find(|item| item.code == "CP-58").unwrap();
    item.packs.iter_mut().for_each(|pack| pack.prices.clear());
    let without = Catalogue::new(items, whole.labour().to_vec(), whole.equipment().to_vec()).unwrap();
    let found = demo
        .workbook
        .unpriced(&PriceBook::on(day("2025-04-14"), &without));
    assert!(!found.is_empty());
    for finding in &found {
        assert_eq!((finding.code, finding.field.as_str()), ("no_price", "item_from"));
        assert_eq!(finding.message, "the item `CP-58` has no price on 2025-04-14");
        assert!(
            finding.span.of(&rules).contains("coupling["),
            "{}",
            finding.span.of(&rules)
        );
    }
}

/// A condition over the sample's facts, of a few levels.
fn condition() -> impl Strategy<Value = String> {
    let number = prop::sample::select(vec![
        "site.ceiling_height",
        "line_set.length",
        "line_set.rise",
        "lines",
        "(line_set.length + site.ceiling_height)",
        "(2 * line_set.rise - 3 ft)",
        "(line_set.length - line_set.rise)",
        "(line_set.length - line_set.rise + 5 ft)",
        "(line_set.rise * 2 - line_set.length - line_set.rise)",
        "(line_set.rise + 1 ft)",
        "max(line_set.rise, 6 ft)",
        "min(line_set.length, site.ceiling_height)",
        "round_up(line_set.rise, 4 ft)",
        "round_down(line_set.length, 3 ft)",
        "round_to(line_set.length, 5 ft)",
        "(if site.occupied then line_set.length else 12 ft)",
        "(mount_hours[unit.mounting, site.ceiling_height] / 1 h * 1 ft)",
        "clamp(line_set.length, 5 ft, 50 ft)",
    ]);
    let figure = prop::sample::select(vec![
        "0 ft", "3 ft", "4 ft", "5 ft", "9 ft", "144 in", "12 ft", "60 ft", "61 ft", "300 m", "1000 ft",
        "2000 ft",
    ]);
    let sign = prop::sample::select(vec!["<", "<=", ">", ">=", "=", "<>"]);
    let compared = (number.clone(), sign, prop_oneof![figure, number])
        .prop_map(|(a, sign, b)| format!("{a} {sign} {b}"));
    let other = prop::sample::select(vec![
        "site.occupied",
        "unit.mounting = flush",
        "unit.mounting <> exposed",
        "line_set.suction_size = \"5/8\"",
        "size_up[line_set.suction_size] = \"7/8\"",
        "size_up[line_set.suction_size] <> line_set.suction_size",
        "needs_lift[site.occupied, unit.mounting]",
        "(if site.occupied then unit.mounting else flush) = exposed",
        "true",
    ])
    .prop_map(str::to_owned);
    prop_oneof![compared, other].prop_recursive(3, 10, 2, |inner| {
        prop_oneof![
            (inner.clone(), inner.clone()).prop_map(|(a, b)| format!("({a} and {b})")),
            (inner.clone(), inner.clone()).prop_map(|(a, b)| format!("({a} or {b})")),
            (inner.clone(), inner.clone(), inner.clone())
                .prop_map(|(a, b, c)| format!("(if {a} then {b} else {c})")),
            (inner.clone(), inner.clone()).prop_map(|(a, b)| format!("({a}) = ({b})")),
            inner.prop_map(|a| format!("not ({a})")),
        ]
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(192))]

    /// A condition that is told never to hold holds on no job that is tried, and one that is told always to hold on
    /// every one.
    #[test]
    fn what_is_decided_is_so_on_every_job(condition in condition(), jobs in prop::collection::vec(likely(), 24)) {
        let text = with_head(&format!(
            "[[check]]\ncode = 'c'\nlevel = 'caution'\nwhen = {}\nmessage = 'M'\n", quoted(&condition)
        ));
        let Ok((_, checked)) = check_toml(&text, &bounded()) else {
            return Err(TestCaseError::fail(condition));
        };
        let code = checked.warnings.iter().map(|finding| finding.code).find(|code| *code != "unused");
        for facts in &jobs {
            let outcome = checked.program.run(RunInput { facts, unknown: &[], explain: false }).unwrap();
            let holds = !outcome.raised.is_empty();
            match code {
                Some("never_holds") => prop_assert!(!holds, "{condition} holds on {facts:?}"),
                Some("always_holds") => prop_assert!(holds, "{condition} fails on {facts:?}"),
                _ => {}
            }
        }
    }
}

#[test]
fn the_sample_has_a_fact_for_every_bound() {
    assert_eq!(bounded().facts.len(), facts().len());
}
