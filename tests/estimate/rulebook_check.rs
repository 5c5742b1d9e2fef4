//! The check of a rulebook: each fault is told once, with its place, what was found and expected.

use super::rules_sample::{findings, with_head};
use estimate::rules::Severity;

/// A line of a material, to be put into an assembly.
pub fn assembly(line: &str) -> String {
    with_head(&format!(
        "[[assembly]]\ncode = 'A'\ntitle = 'An assembly'\nsection = 'Lines'\n[[assembly.line]]\n{line}\n"
    ))
}

fn table(head: &str, rows: &str) -> String {
    with_head(&format!("[[table]]\nname = 'trial'\n{head}\nrows = [{rows}]\n"))
}

/// What is told of a rulebook: code, the text that is pointed at, message.
pub fn told(text: &str) -> Vec<(String, String, String)> {
    findings(text)
        .iter()
        .filter(|finding| finding.code != "unused")
        .map(|finding| {
            let place = finding.span.of(text);
            let lines_before = text[..finding.span.start].matches('\n').count();
            assert_eq!(finding.line, lines_before + 1);
            (finding.code.to_owned(), place.to_owned(), finding.message.clone())
        })
        .collect()
}

/// Asserts that exactly these codes are told, each pointing at this text.
pub fn expect(text: &str, expected: &[(&str, &str)]) {
    let told = told(text);
    let pairs: Vec<(&str, &str)> = told
        .iter()
        .map(|(code, place, _)| (code.as_str(), place.as_str()))
        .collect();
    assert_eq!(pairs, expected, "{told:#?}");
}

#[test]
fn the_sample_is_fine_and_what_nothing_uses_is_warned_of() {
    let text = with_head("");
    assert!(
        findings(&text)
            .iter()
            .all(|finding| finding.severity == Severity::Warning)
    );
    let unused: Vec<String> = findings(&text)
        .iter()
        .map(|finding| finding.part.clone())
        .collect();
    let expected = [
        "input bottles",
        "table mount_hours",
        "table needs_lift",
        "table size_up",
        "table tube",
    ];
    assert_eq!(unused[..5], expected);
    assert!(unused.contains(&"derived value lines".to_owned()));
}

#[test]
fn lines_are_held_to_the_catalogue_and_to_their_items_unit() {
    let material = |rest: &str| assembly(&format!("kind = 'material'\n{rest}"));
    expect(
        &material("item = 'TUBE-58'\nquantity = 'lines'\nwaste = '10 %'\none_piece = true"),
        &[],
    );
    expect(
        &material("item = 'TUBE-58'\nquantity = 'lines * 12 in / 1 ft'"),
        &[],
    );
    expect(&material("item = 'TUBE-M'\nquantity = 'lines'"), &[]);
    expect(&material("item = 'CLAMP'\nquantity = 3"), &[("dimension", "3")]);
    expect(
        &material("item = 'TUBE-58'\nquantity = '3 each'"),
        &[("dimension", "3 each")],
    );
    expect(
        &material("item = 'TUBE-58'\nquantity = 'lines'\nwaste = '1 ft'"),
        &[("dimension", "1 ft")],
    );
    expect(
        &material("item = 'TUBE-59'\nquantity = 'liness'"),
        &[("unknown_item", "'TUBE-59'"), ("unknown_name", "liness")],
    );
    expect(
        &material("item_from = 'tube[line_set.suction_size]'\nquantity = 'lines'"),
        &[],
    );
    expect(
        &material("item_from = 'size_up[line_set.suction_size]'\nquantity = 'lines'"),
        &[("type", "size_up[line_set.suction_size]")],
    );
    expect(
        &material("item_from = 'if site.occupied then \"GAS\" else \"TUBE-58\"'\nquantity = 'lines'"),
        &[("dimension", "'if site.occupied then \"GAS\" else \"TUBE-58\"'")],
    );
    expect(
        &material("item = 'GAS'\nitem_from = 'tube[\"5/8\"]'\nquantity = '1 oz'"),
        &[("ambiguous", "'GAS'")],
    );
    expect(
        &material("quantity = '1 oz'"),
        &[("missing_field", "[[assembly.line]]")],
    );
    expect(
        &material("item = 'GAS'\nquantity = '1 oz'\ncolour = 'red'"),
        &[("unknown_field", "colour")],
    );

    let waste = |waste: &str| material(&format!("item = 'GAS'\nquantity = '1 oz'\nwaste = '{waste}'"));
    for fine in ["0", "10 %", "100 %"] {
        expect(&waste(fine), &[]);
    }
    let sometimes = "if unit.count > 1 each then 5 else 0";
    expect(
        &waste(sometimes),
        &[("may_be_too_much_waste", &format!("'{sometimes}'"))],
    );
    for slip in ["10", "101 %"] {
        expect(&waste(slip), &[("always_too_much_waste", &format!("'{slip}'"))]);
    }

    let labour = |rest: &str| assembly(&format!("kind = 'labour'\ntask = 't'\ntitle = 'T'\n{rest}"));
    expect(&labour("class = 'apprentice'\nhours = '1 h'\ncrew = 2"), &[]);
    expect(
        &labour("class = 'aprentice'\nhours = '1 h'"),
        &[("unknown_class", "'aprentice'")],
    );
    expect(
        &labour("class = 'apprentice'\nhours = '1'"),
        &[("dimension", "1")],
    );
    expect(
        &labour("class = 'apprentice'\nhours = '1 h'\nfactors = ['height']"),
        &[("unknown_factor", "'height'")],
    );
    expect(
        &labour("class = 'apprentice'\nhours = '1 h'\ncrew = '0'"),
        &[("no_crew", "'0'")],
    );
    expect(&assembly("kind = 'labor'"), &[("unknown_word", "'labor'")]);

    let fee = |rest: &str| assembly(&format!("kind = 'fee'\ntitle = 'Permit'\n{rest}"));
    expect(
        &fee("cost_code = 'PERMIT'\ntax_category = 'services'\namount = '165 money'"),
        &[],
    );
    expect(
        &fee("cost_code = 'PERMIT'\ntax_category = 'services'\nitem = 'CLAMP'\nquantity = '1 each'"),
        &[],
    );
    expect(
        &fee("cost_code = 'PERMTI'\ntax_category = 'service'\namount = '165'"),
        &[
            ("unknown_cost_code", "'PERMTI'"),
            ("unknown_tax_category", "'service'"),
            ("dimension", "165"),
        ],
    );
}

#[test]
fn a_table_has_no_holes_and_no_row_that_never_applies() {
    let by_mounting = "value = 'h'\nkeys = [{ name = 'mounting', of = 'unit.mounting' }, \
                       { name = 'height', unit = 'ft', match = 'up_to' }]";
    let all = "['exposed','above','1'], ['partly_recessed','above','2']";
    expect(
        &table(
            by_mounting,
            &format!("{all}, ['flush','9','3'], ['flush','above','4']"),
        ),
        &[],
    );
    let hole = told(&table(
        by_mounting,
        &format!("{all}, ['flush','9','3'], ['flush','12','4']"),
    ));
    assert_eq!(hole[0].2, "no row for mounting = flush, height above 12 ft");
    let hole = told(&table(by_mounting, all));
    assert_eq!(hole[0].2, "no row for mounting = flush");
    expect(
        &table(
            by_mounting,
            &format!("{all}, ['flush','above','3'], ['flush','9','4']"),
        ),
        &[("never_reached", "['flush','9','4']")],
    );
    expect(
        &table(
            by_mounting,
            &format!("{all}, ['flush','above','3'], ['flush','above','4']"),
        ),
        &[("duplicate", "['flush','above','4']")],
    );
    expect(
        &table(
            by_mounting,
            &format!("{all}, ['any','above','3'], ['flush','above','4']"),
        ),
        &[("never_reached", "['flush','above','4']")],
    );
    expect(
        &table(
            by_mounting,
            &format!("{all}, ['flsh','above','3'], ['flush','high','4 h']"),
        ),
        &[
            ("unknown_word", "'flsh'"),
            ("number", "'high'"),
            ("number", "'4 h'"),
        ],
    );
    expect(
        &table(by_mounting, "['exposed','1']"),
        &[("row", "['exposed','1']")],
    );
    expect(&table(by_mounting, ""), &[("hole", "'trial'")]);
}

#[test]
fn a_curve_needs_ascending_points() {
    let curve = "value = '1'\nkeys = [{ name = 'occupied', of = 'site.occupied' }, \
                 { name = 'height', unit = 'ft', match = 'interpolate' }]";
    let no = "[false,'1','0'], [false,'2','1']";
    expect(
        &table(curve, &format!("{no}, [true,'1','0'], [true,'2','10 %']")),
        &[],
    );
    expect(
        &table(curve, &format!("{no}, [true,'2','0'], [true,'1','1']")),
        &[("hole", "'trial'"), ("order", "[true,'1','1']")],
    );
    let short = told(&table(curve, &format!("{no}, [true,'1','0']")));
    assert_eq!(short[0].2, "a line needs two points for occupied = true");
}

#[test]
fn heads_of_tables_are_checked_once_and_not_at_every_use() {
    let uses = "[[derived]]\nname = 'd'\nunit = 'h'\nformula = 'trial[unit.mounting] + trial[exposed]'\n";
    let head = |keys: &str| {
        format!(
            "{}\n{uses}",
            table(&format!("value = 'h'\nkeys = [{keys}]"), "['any', '1']")
        )
    };
    expect(
        &head("{ name = 'm', of = 'unit.mountin' }"),
        &[("unknown_name", "'unit.mountin'")],
    );
    expect(
        &head("{ name = 'm', of = 'line_set.length' }"),
        &[("key", "'line_set.length'")],
    );
    expect(
        &head("{ name = 'm', unit = 'ft' }"),
        &[("key", "{ name = 'm', unit = 'ft' }")],
    );
    expect(
        &head("{ name = 'm', unit = 'foot', match = 'up_to' }"),
        &[("unknown_unit", "'foot'")],
    );
    expect(
        &table(
            "value = 'hours'\nkeys = [{ name = 'm', of = 'space' }]",
            "['any','1']",
        ),
        &[("unknown_unit", "'hours'")],
    );
}

#[test]
fn circles_are_told_once_with_their_members_in_order() {
    let derived = |name: &str, formula: &str| {
        format!("[[derived]]\nname = '{name}'\nunit = '1'\nformula = '{formula}'\n")
    };
    let text = with_head(
        &[
            derived("a", "b + 1"),
            derived("b", "c * 2"),
            derived("c", "if site.occupied then a else 1"),
            derived("d", "d"),
            derived("e", "a"),
        ]
        .concat(),
    );
    let circles: Vec<String> = told(&text).into_iter().map(|(_, _, message)| message).collect();
    assert_eq!(
        circles,
        [
            "these read one another in a circle: a -> b -> c -> a",
            "`d` reads itself"
        ]
    );
}

#[test]
fn a_chain_of_values_that_is_too_deep_is_refused() {
    let link = |at: usize| {
        format!(
            "[[derived]]\nname = 'v{at}'\nunit = '1'\nformula = 'v{} + 1'\n",
            at - 1
        )
    };
    let chain = |count: usize| {
        let first = "[[derived]]\nname = 'v0'\nunit = '1'\nformula = '1'\n".to_owned();
        with_head(&(1..count).map(link).fold(first, |all, one| one + &all))
    };
    expect(&chain(66), &[]);
    let told = told(&chain(68));
    assert_eq!(told.len(), 1);
    assert_eq!(told[0].0, "too_large");
}

#[test]
fn what_covers_a_subject_is_an_assembly_an_item_or_an_allowance() {
    let subject = |codes: &str| {
        with_head(&format!(
            "[[completeness]]\ncode = 'tube'\ntitle = 'Tube'\ncovered_by = [{codes}]\n"
        ))
    };
    expect(&subject("'TUBE-58'"), &[]);
    expect(
        &subject("'TUBE-57', 'LINES'"),
        &[("unknown_code", "'TUBE-57'"), ("unknown_code", "'LINES'")],
    );
    // The allowance of an unknown answer covers it; an answer that is only assumed sets nothing aside.
    let unknown = |treat: &str| {
        let money = if treat == "allowance" {
            "amount = '5 money'\ncost_code = 'SUB'\ntax_category = 'goods'\n"
        } else {
            ""
        };
        let rule = format!(
            "[[unknown]]\nanswer = '/electrical/panel_length'\ntreat = '{treat}'\nvalue = {{ value = '9', unit = 'ft' }}\nwording = 'W'\n{money}"
        );
        subject("'/electrical/panel_length'") + &rule
    };
    expect(&unknown("allowance"), &[]);
    expect(
        &unknown("assume"),
        &[("unknown_code", "'/electrical/panel_length'")],
    );
}

/// What a labour factor adds is a fraction of the hours; a percentage sign that was left out is told.
#[test]
fn a_factor_that_adds_too_much_is_told() {
    let with = |most: &str, add: &str| {
        let factor = format!(
            "[[factor]]\nname = 'night'\ntitle = 'At night'\nwhen = 'site.occupied'\nadd = '{add}'\n"
        );
        let labour = "kind = 'labour'\ntask = 't'\ntitle = 'T'\nclass = 'apprentice'\nhours = '1 h'\nfactors = ['night']";
        format!("{}{most}{factor}", assembly(labour))
    };
    let most = "[labour]\nmax_factor = '2.0'\n";
    for fine in [
        "100 %",
        "10 %",
        "-50 %",
        "if unit.count > 1 each then 10 else 10 %",
    ] {
        expect(&with("", fine), &[]);
        expect(&with(most, fine), &[]);
    }
    expect(&with("", "10"), &[("more_than_doubles", "'10'")]);
    expect(&with(most, "10"), &[("always_beyond_max_factor", "'10'")]);
    assert_eq!(
        suggested(&with(most, "10"), "always_beyond_max_factor").as_deref(),
        Some("10 %")
    );
}

/// What is suggested by the finding of this code.
fn suggested(text: &str, code: &str) -> Option<String> {
    let found = findings(text).into_iter().find(|finding| finding.code == code);
    found.unwrap().suggestion
}

/// Signs of other keyboards and languages are shown as they are, with what is written instead.
#[test]
fn a_sign_of_another_keyboard_is_told_with_the_one_that_is_meant() {
    let hours = |formula: &str| {
        let labour = "kind = 'labour'\ntask = 't'\ntitle = 'T'\nclass = 'apprentice'";
        assembly(&format!("{labour}\nhours = '{formula}'"))
    };
    for (formula, instead) in [
        ("2 × 1 h", "*"),
        ("2 h ÷ 2", "/"),
        ("2 h − 1 h", "-"),
        ("if unit.count ≥ 2 each then 2 h else 1 h", ">="),
        ("if unit.count != 2 each then 2 h else 1 h", "<>"),
        ("1 h * 2^2", "x * x"),
        ("1,5 h", "write a decimal point, and nothing between thousands"),
    ] {
        let text = hours(formula);
        assert_eq!(suggested(&text, "syntax").as_deref(), Some(instead), "{formula}");
        let found = findings(&text)
            .into_iter()
            .find_map(|finding| finding.found)
            .unwrap();
        assert!(formula.contains(found.trim_matches('`')), "{found}");
    }
    assert_eq!(
        suggested(&hours("1 h + 5 %"), "dimension").as_deref(),
        Some("* 105 %")
    );
    assert_eq!(
        suggested(&hours("1 h - 5 %"), "dimension").as_deref(),
        Some("* 95 %")
    );
}
