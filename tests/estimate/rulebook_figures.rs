//! What the check decides of figures: divisors that can be zero, numbers too large, quantities below zero; and that
//! nothing of it is lost in a large catalogue.

use super::rules_bounds::bounded;
use super::rules_sample::{names, quoted, unit, with_head};
use chrono::NaiveDate;
use estimate::catalogue::prices::PriceBook;
use estimate::rules::{Finding, Names, Severity, check_toml, unpriced};
use estimate::workbook::Workbook;
use std::sync::Arc;

fn found(text: &str, names: &Names) -> Vec<Finding> {
    match check_toml(text, names) {
        Ok((_, checked)) => checked.warnings,
        Err(findings) => findings,
    }
}

/// A line that buys by this quantity where this holds.
fn line(when: &str, quantity: &str) -> String {
    with_head(&format!(
        "[[assembly]]\ncode = 'A'\ntitle = 'A'\nsection = 'S'\nwhen = {}\n\
         [[assembly.line]]\nkind = 'material'\nitem = 'TUBE-58'\nquantity = {}\n",
        quoted(when),
        quoted(quantity)
    ))
}

/// What is told of the quantity.
fn told(when: &str, quantity: &str) -> Vec<(&'static str, Severity, String)> {
    let text = line(when, quantity);
    let of_figures = [
        "may_divide_by_zero",
        "may_be_too_large",
        "always_negative",
        "may_be_negative",
        "kept_as_nothing",
    ];
    let told = found(&text, &bounded())
        .into_iter()
        .filter(|finding| of_figures.contains(&finding.code));
    told.map(|finding| (finding.code, finding.severity, finding.span.of(&text).to_owned()))
        .collect()
}

const ANY: &str = "site.occupied";

/// Quantities are kept to six decimals: what is less on every job would be nothing without a word.
#[test]
fn a_quantity_that_is_kept_as_nothing_is_told() {
    for nothing in ["0.0000001 ft", "0.000001 in", "line_set.length * 0.0000000001"] {
        let found = told(ANY, nothing);
        assert_eq!(
            found,
            [("kept_as_nothing", Severity::Warning, quoted(nothing))],
            "{nothing}"
        );
    }
    for kept in ["0 ft", "0.000001 ft", "line_set.length * 0.000001"] {
        assert_eq!(told(ANY, kept), [], "{kept}");
    }
}

#[test]
fn a_divisor_that_can_be_zero_is_refused_with_its_place() {
    for (quantity, divisor) in [
        ("line_set.length * 1 ft / line_set.rise", "line_set.rise"),
        (
            "line_set.length * 2 / (input.bottles / 1 each)",
            "input.bottles / 1 each",
        ),
        (
            "line_set.length * 1 ft / (line_set.length - line_set.rise)",
            "(line_set.length - line_set.rise)",
        ),
        (
            "line_set.length * 1 ft / (line_set.rise - line_set.rise)",
            "(line_set.rise - line_set.rise)",
        ),
        (
            "line_set.length * 1 ft / abs(site.ceiling_height - 9 ft)",
            "abs(site.ceiling_height - 9 ft)",
        ),
        (
            "if line_set.rise >= 0 ft then line_set.length * 1 ft / line_set.rise else 1 ft",
            "line_set.rise",
        ),
    ] {
        let told = told(ANY, quantity);
        assert_eq!(told.len(), 1, "{quantity} {told:?}");
        assert_eq!(
            (told[0].0, told[0].1),
            ("may_divide_by_zero", Severity::Error),
            "{quantity}"
        );
        assert_eq!(
            told[0].2.trim_matches(['(', ')']),
            divisor.trim_matches(['(', ')']),
            "{quantity}"
        );
    }
    let text = line(ANY, "line_set.length * 1 ft / line_set.rise");
    let finding = found(&text, &bounded())
        .into_iter()
        .find(|one| one.code == "may_divide_by_zero")
        .unwrap();
    assert_eq!(finding.part, "assembly A, line 1");
    assert_eq!(finding.field, "quantity");
    assert!(
        finding
            .expected
            .unwrap()
            .ends_with("line_set.rise is 0 to 1000 ft")
    );
}

#[test]
fn a_divisor_that_a_condition_keeps_from_zero_is_fine() {
    for (when, quantity) in [
        (ANY, "line_set.length * 1 ft / site.ceiling_height"),
        (ANY, "line_set.length * 1 ft / max(line_set.rise, 1 in)"),
        (ANY, "line_set.length * 1 ft / (line_set.rise + 1 ft)"),
        (
            ANY,
            "if line_set.rise > 0 ft then line_set.length * 1 ft / line_set.rise else 0 ft",
        ),
        (
            ANY,
            "if line_set.rise <> 0 ft then line_set.length * 1 ft / line_set.rise else 0 ft",
        ),
        ("line_set.rise > 0 ft", "line_set.length * 1 ft / line_set.rise"),
        (
            "line_set.length > line_set.rise",
            "line_set.length * 1 ft / (line_set.length - line_set.rise)",
        ),
        (
            "line_set.length > line_set.rise",
            "line_set.length * 1 ft / (line_set.rise - line_set.length) * -1",
        ),
        (
            "line_set.length >= line_set.rise + 1 ft",
            "line_set.length - line_set.rise",
        ),
        (
            "line_set.rise > 0 ft",
            "line_set.length * 30 ft2 / line_set.rise / line_set.rise",
        ),
    ] {
        assert_eq!(told(when, quantity), [], "{when}: {quantity}");
    }
}

#[test]
fn a_quantity_below_zero_is_refused_where_it_always_is_and_told_where_it_may_be() {
    let always = |quantity: &str| {
        told(ANY, quantity)
            .iter()
            .any(|one| (one.0, one.1) == ("always_negative", Severity::Error))
    };
    let may = |quantity: &str| {
        told(ANY, quantity)
            .iter()
            .any(|one| (one.0, one.1) == ("may_be_negative", Severity::Warning))
    };
    for quantity in [
        "-5 ft",
        "-site.ceiling_height",
        "1 ft - site.ceiling_height",
        "line_set.rise - line_set.rise - 2 ft",
    ] {
        assert!(always(quantity), "{quantity}");
    }
    for quantity in [
        "line_set.length - line_set.rise",
        "6 ft - site.ceiling_height",
        "-line_set.rise",
    ] {
        assert!(may(quantity) && !always(quantity), "{quantity}");
    }
    for quantity in [
        "max(line_set.length - line_set.rise, 0 ft)",
        "if line_set.length > line_set.rise then line_set.length - line_set.rise else 0 ft",
        "line_set.length + line_set.rise",
    ] {
        assert_eq!(told(ANY, quantity), [], "{quantity}");
    }
    let labour = |hours: &str, factor: &str| {
        let text = with_head(&format!(
            "[[factor]]\nname = 'f'\ntitle = 'F'\nwhen = 'site.occupied'\nadd = '{factor}'\n\
             [[assembly]]\ncode = 'A'\ntitle = 'A'\nsection = 'S'\n[[assembly.line]]\nkind = 'labour'\ntask = 't'\n\
             title = 'T'\nclass = 'apprentice'\nhours = '{hours}'\nfactors = ['f']\n"
        ));
        let told = found(&text, &bounded())
            .into_iter()
            .filter(|one| one.code != "unused");
        told.map(|finding| (finding.code, finding.part, finding.field))
            .collect::<Vec<_>>()
    };
    assert_eq!(labour("2 h", "-20 %"), []);
    let told = ("always_negative", "labour factor f".to_owned(), "add".to_owned());
    assert_eq!(labour("2 h", "-100 %"), [told]);
    let told = (
        "always_negative",
        "assembly A, line 1".to_owned(),
        "hours".to_owned(),
    );
    assert_eq!(labour("-2 h", "20 %"), [told]);
}

#[test]
fn a_number_that_can_get_too_large_is_refused() {
    let cube = "line_set.length * line_set.length * line_set.length / 1 ft2";
    assert_eq!(told(ANY, cube), []);
    let huge = format!("{cube} * 1000000000000 * 100000000000000");
    let told = told(ANY, &huge);
    assert_eq!(told.len(), 1, "{told:?}");
    assert_eq!((told[0].0, told[0].1), ("may_be_too_large", Severity::Error));
}

#[test]
fn values_in_the_message_of_a_check_are_looked_through_as_well() {
    let check = |when: &str| {
        let text = with_head(&format!(
            "[[check]]\ncode = 'c'\nlevel = 'caution'\nwhen = '{when}'\n\
             message = 'Share {{line_set.length / line_set.rise}}, hours {{patch_hours[cellar.volume / 1 ft]}}'\n"
        ));
        let told = found(&text, &bounded())
            .into_iter()
            .filter(|one| one.severity == Severity::Error);
        told.map(|finding| (finding.code, finding.field))
            .collect::<Vec<_>>()
    };
    let field = || "message".to_owned();
    assert_eq!(
        check("site.occupied"),
        [("may_divide_by_zero", field()), ("outside_table", field())]
    );
    assert_eq!(
        check("line_set.rise > 1 ft and cellar.volume >= 4 ft3 and cellar.volume < 60 ft3"),
        []
    );
}

#[test]
fn an_input_without_its_prefix_is_told_with_it() {
    let suggestion = |when: &str| {
        let text = line(when, "1 ft");
        let unknown = found(&text, &bounded())
            .into_iter()
            .find(|one| one.code.starts_with("unknown"));
        unknown.unwrap().suggestion
    };
    for when in [
        "bottles > 3 each",
        "3 each < bottles",
        "botles > 3 each",
        "not bottles",
        "unit.mounting = bottles",
    ] {
        assert_eq!(suggestion(when).as_deref(), Some("input.bottles"), "{when}");
    }
}

/// More items than sixteen bits can count.
const MANY: usize = 70_000;

#[test]
fn items_far_down_a_large_catalogue_are_looked_at_as_well() {
    let mut names = names();
    names
        .items
        .extend((names.items.len()..MANY).map(|at| (Arc::from(format!("X-{at}")), unit("ft"))));
    let last = format!("X-{}", MANY - 1);
    let text = with_head(&format!(
        "[[table]]\nname = 'far'\nvalue = 'item'\nkeys = [{{ name = 'size', of = 'tube_size' }}]\n\
         rows = [['7/8', '{last}'], ['any', 'X-69998']]\n\
         [[assembly]]\ncode = 'A'\ntitle = 'A'\nsection = 'S'\n\
         [[assembly.line]]\nkind = 'material'\nitem = '{last}'\nquantity = '1 ft'\n\
         [[assembly]]\ncode = 'B'\ntitle = 'B'\nsection = 'S'\n\
         [[assembly.line]]\nkind = 'material'\nitem_from = 'far[line_set.suction_size]'\nquantity = '1 ft'\n"
    ));
    let (rulebook, checked) = check_toml(&text, &names).unwrap();
    let twice = checked
        .warnings
        .iter()
        .find(|finding| finding.code == "bought_twice")
        .unwrap();
    assert!(twice.message.contains(&last), "{}", twice.message);
    // No item of this price book has a price.
    let day = NaiveDate::from_ymd_opt(2025, 4, 14).unwrap();
    let prices = PriceBook::on(day, &super::demo::catalogue());
    let told = unpriced(&rulebook, &checked.program, &prices);
    let messages: Vec<&str> = told.iter().map(|finding| finding.message.as_str()).collect();
    assert_eq!(
        messages,
        [
            format!("the item `{last}` has no price on {day}"),
            format!("the items `X-69998`, `{last}` have no price on {day}")
        ]
    );
}

#[test]
fn rules_that_were_published_before_a_check_was_there_are_opened_even_so() {
    let text = super::demo::text("rulebook.toml");
    let older = text.replace(
        "max(unit.joist_spacing - 1.5 in, 1 in)",
        "unit.joist_spacing - 1.5 in",
    );
    assert_ne!(older, text);
    let catalogue = super::demo::catalogue();
    let found = Workbook::compile(&older, 1, &catalogue, &[]).unwrap_err();
    assert!(
        found
            .iter()
            .any(|finding| finding.code == "may_divide_by_zero" && finding.part == "derived value blocks")
    );
    assert!(Workbook::reopen(&older, 1, &catalogue, &[]).is_ok());
    let broken = older.replace("unit.joist_spacing - 1.5 in", "unit.joist_spacin - 1.5 in");
    assert!(Workbook::reopen(&broken, 1, &catalogue, &[]).is_err());
}

#[test]
fn a_rulebook_without_a_line_prices_nothing_and_is_told_so() {
    let (rulebook, checked) = check_toml(&with_head(""), &names()).unwrap();
    let day = NaiveDate::from_ymd_opt(2025, 4, 14).unwrap();
    let told = unpriced(
        &rulebook,
        &checked.program,
        &PriceBook::on(day, &super::demo::catalogue()),
    );
    assert_eq!((told[0].code, told[0].severity), ("empty", Severity::Error));
}

#[test]
fn an_error_behind_many_warnings_is_not_lost() {
    let unused: String = (0..600)
        .map(|at| format!("[[derived]]\nname = 'd{at}'\nunit = 'ft'\nformula = 'line_set.length'\n"))
        .collect();
    let text = line(ANY, "line_set.length * 1 ft / line_set.rise") + &unused;
    let found = check_toml(&text, &bounded()).unwrap_err();
    assert_eq!(found.len(), 500);
    assert!(found.iter().any(|finding| finding.code == "may_divide_by_zero"));
}
