//! The shape of a rulebook, its names and codes, and how findings are shown.

use super::rulebook_check::{assembly, expect, told};
use super::rules_sample::{findings, names, program, quoted, with_head};
use estimate::job::{ExtraKind, Treat};
use estimate::rules::{check_toml, parse_toml, render};

#[test]
fn names_are_unique_and_mean_nothing_else() {
    let derived = |name: &str| format!("[[derived]]\nname = '{name}'\nunit = '1'\nformula = '1'\n");
    for (name, code) in [
        ("ft", "name"),
        ("then", "name"),
        ("Upper", "name"),
        ("a b", "name"),
        ("9a", "name"),
        ("", "name"),
    ] {
        expect(&with_head(&derived(name)), &[(code, &format!("'{name}'"))]);
    }
    expect(
        &with_head(&(derived("x") + &derived("x"))),
        &[("duplicate", "'x'")],
    );
    let twice = assembly(
        "kind = 'labour'\ntask = 't'\ntitle = 'T'\nclass = 'apprentice'\nhours = '1 h'\n\
                          [[assembly.line]]\nkind = 'labour'\ntask = 't'\ntitle = 'T'\nclass = 'apprentice'\nhours = '1 h'",
    );
    expect(&twice, &[("duplicate", "'t'")]);
}

#[test]
fn inputs_are_checked_and_become_questions_of_the_job_spec() {
    let input = |rest: &str| with_head(&format!("[[input]]\nname = 'more'\ntitle = 'More'\n{rest}\n"));
    expect(
        &input("type = 'number'\nmin = '0'\nmax = '5'\ndefault = '2'"),
        &[],
    );
    expect(&input("type = 'flag'\ndefault = false"), &[]);
    expect(&input("type = 'choice'\nwords = ['a', 'b']\ndefault = 'b'"), &[]);
    expect(
        &input("type = 'number'\nmin = '0'\nmax = '5'\ndefault = '9'"),
        &[("bounds", "'9'")],
    );
    expect(
        &input("type = 'number'\nmin = '5'\nmax = '0'"),
        &[("order", "'0'")],
    );
    expect(
        &input("type = 'quantity'\nmin = '0'\nmax = '5'"),
        &[("missing_field", "'more'")],
    );
    expect(
        &input("type = 'quantity'\nunit = 'foot'\nmin = 'x'\nmax = '5'"),
        &[("unknown_unit", "'foot'"), ("number", "'x'")],
    );
    expect(
        &input("type = 'choice'\nwords = ['a', 'a']\ndefault = 'c'"),
        &[("duplicate", "'a'"), ("unknown_word", "'c'")],
    );
    expect(
        &input("type = 'flag'\nunit = 'ft'\ndefault = 'maybe'"),
        &[("unknown_field", "'ft'"), ("unknown_word", "'maybe'")],
    );
    expect(&input("type = 'text'"), &[("unknown_word", "'text'")]);
    let rulebook = parse_toml(&input("type = 'choice'\nwords = ['a', 'b']\ndefault = 'b'")).unwrap();
    let extra = rulebook.extra_inputs();
    assert_eq!(extra.len(), 2);
    assert!(
        matches!(&extra[1].kind, ExtraKind::Choice { default: Some(word), domain } if word.place() == 1 && domain.words.len() == 2)
    );
}

#[test]
fn unknown_answers_are_answers_of_the_job_spec() {
    let rule = |rest: &str| with_head(&format!("[[unknown]]\nwording = 'Not known.'\n{rest}\n"));
    let fine =
        rule("answer = '/electrical/panel_length'\ntreat = 'assume'\nvalue = { value = '40', unit = 'ft' }");
    expect(&fine, &[]);
    let rules = parse_toml(&fine).unwrap().unknown_rules();
    assert_eq!(rules[0].treat, Treat::Assume);
    assert_eq!(
        rules[0].value,
        Some(serde_json::json!({"value": "40", "unit": "ft"}))
    );
    expect(
        &rule("answer = '/electrical/panel_lenght'\ntreat = 'stop'"),
        &[("unknown_answer", "'/electrical/panel_lenght'")],
    );
    expect(
        &rule("answer = '/electrical/panel_length'\ntreat = 'assume'"),
        &[("missing_field", "'/electrical/panel_length'")],
    );
    expect(
        &rule("answer = '/electrical/panel_length'\ntreat = 'ignore'"),
        &[("unknown_word", "'ignore'")],
    );
    let allowance = "answer = '/electrical/panel_length'\ntreat = 'allowance'\nvalue = 1\ncost_code = 'SUB'\n\
                     tax_category = 'services'\n";
    expect(&rule(&format!("{allowance}amount = '300 money'")), &[]);
    expect(
        &rule(&format!("{allowance}amount = '300'")),
        &[("dimension", "300")],
    );
}

#[test]
fn faults_of_toml_and_of_shape_are_told_together_with_their_places() {
    expect("[rulebook]\nid = 'a'\ntitle = \n", &[("toml", "")]);
    expect("[rulebook]\nid = 'a'\nid = 'b'\ntitle = 'c'\n", &[("toml", "id")]);
    expect("", &[("missing_field", "")]);
    let text = "[rulebook]\nid = 7\ntitel = 'x'\n[[derived]]\nname = 'a'\n[[inputs]]\n[[check]]\ncode = 'c'\nlevel = 'warn'\n";
    expect(
        text,
        &[
            ("missing_field", "[rulebook]"),
            ("wrong_sort", "7"),
            ("unknown_field", "titel"),
            ("missing_field", "[[derived]]"),
            ("missing_field", "[[derived]]"),
            ("unknown_field", "inputs"),
            ("missing_field", "[[check]]"),
            ("missing_field", "[[check]]"),
            ("unknown_word", "'warn'"),
        ],
    );
    let suggested: Vec<_> = findings(text)
        .into_iter()
        .filter_map(|finding| finding.suggestion)
        .collect();
    assert_eq!(suggested, ["title", "input"]);
}

/// A band takes no clamp: the finding says so, and not that the key is unclear.
#[test]
fn clamp_is_of_interpolated_keys_only() {
    let table = |key: &str| {
        with_head(&format!(
            "[[table]]\nname = 't'\nvalue = 'h'\nkeys = [{{ name = 'k', {key} }}]\nrows = [['9', '1'], ['any', '2']]\n"
        ))
    };
    for key in [
        "unit = 'ft', match = 'up_to', clamp = true",
        "of = 'unit.mounting', clamp = true",
    ] {
        let found = findings(&table(key));
        let message = &found[0].message;
        assert_eq!(
            message, "clamp is of a key with match = \"interpolate\" only",
            "{key}"
        );
    }
}

#[test]
fn findings_are_rendered_with_line_carets_and_suggestion() {
    let text = assembly("kind = 'material'\nitem = 'TUBE-58'\nquantity = 'lines + 2'\nwaste = 'lenght'");
    let found = findings(&text);
    let line = found[0].line;
    let expected = format!(
        "rules.toml:{line}:21: error[dimension]: this measures something else than is needed here
  in assembly A, line 1, quantity
   |
{line} | quantity = 'lines + 2'
   |                     ^
   = found: a plain number
   = expected: length (ft)
   = did you mean: 2 ft

rules.toml:{}:10: error[unknown_name]: nothing is called `lenght`
  in assembly A, line 1, waste
   |
{} | waste = 'lenght'
   |          ^^^^^^

",
        line + 1,
        line + 1
    );
    assert_eq!(
        render(&found, "rules.toml", &text),
        expected
            .replace("   |", &format!("{} |", " ".repeat(2)))
            .replace("   =", &format!("{} =", " ".repeat(2)))
    );
}

#[test]
fn a_rulebook_is_the_same_as_json() {
    let text = assembly("kind = 'material'\nitem = 'TUBE-58'\nquantity = 'lines'\nnote = 'n'");
    let (rulebook, _) = check_toml(&text, &names()).unwrap();
    let json = serde_json::to_value(&rulebook).unwrap();
    assert_eq!(
        json["assemblies"][0]["line"][0],
        serde_json::json!({
            "kind": "material", "item": "TUBE-58", "quantity": "lines", "one_piece": false, "note": "n",
        })
    );
    assert_eq!(
        json["tables"][0]["keys"][1],
        serde_json::json!({"name": "height", "match": "up_to", "unit": "ft"})
    );
    assert_eq!(
        json["tables"][1]["rows"][0],
        serde_json::json!(["true", "any", "false"])
    );
    assert!(program(&text).formula_count() >= 2);
}

#[test]
fn conditions_that_never_or_always_hold_are_warned_of() {
    let verdict_of = |part: &str, condition: &str| {
        let told = told(&with_head(&format!("{part}when = {}\n", quoted(condition))));
        assert!(told.len() < 2, "{told:?}");
        told.into_iter().next().map(|(code, _, message)| {
            let words = match code.as_str() {
                "never_holds" => "no job fits this condition",
                "always_holds" => "every job fits this condition",
                other => panic!("{other}"),
            };
            assert!(message.starts_with(words), "{message}");
            code
        })
    };
    let verdict = |condition: &str| {
        let of_exclusion = verdict_of("[[exclusion]]\ncode = 'e'\ntext = 'E'\n", condition);
        let unknown = "[[unknown]]\nanswer = '/electrical/panel_length'\ntreat = 'stop'\nwording = 'U'\n";
        assert_eq!(verdict_of(unknown, condition), of_exclusion, "{condition}");
        of_exclusion
    };
    let never = Some("never_holds".to_owned());
    let always = Some("always_holds".to_owned());
    for condition in [
        "false",
        "unit.mounting = flush and unit.mounting = exposed",
        "line_set.length > 9 ft and line_set.length < 96 in",
        "line_set.length >= 9 ft and line_set.length < 9 ft",
        "site.occupied and not (unit.mounting <> flush or unit.mounting <> exposed)",
        "not (line_set.rise > 5 ft or line_set.rise <= 10 ft)",
        "site.occupied and (false or unit.mounting = flush and unit.mounting = exposed)",
    ] {
        assert_eq!(verdict(condition), never, "{condition}");
    }
    for condition in [
        "unit.mounting <> flush or unit.mounting <> exposed",
        "line_set.length > 5 ft or site.occupied or line_set.length <= 6 ft",
        "not false",
        "if true then true else site.occupied",
    ] {
        assert_eq!(verdict(condition), always, "{condition}");
    }
    for condition in [
        "true",
        "unit.mounting = flush or unit.mounting = exposed",
        "unit.mounting <> flush and unit.mounting <> exposed",
        "line_set.length > 5 ft and line_set.length < 6 ft",
        "line_set.length >= 9 ft and line_set.length <= 9 ft",
        "line_set.length > 9 ft and line_set.rise < 8 ft",
        "line_set.length < 8 ft or line_set.length > 9 ft",
        "site.occupied",
    ] {
        assert_eq!(verdict(condition), None, "{condition}");
    }
}

#[test]
fn codes_need_no_escape_in_keys_and_addresses() {
    let exclusion = |code: &str| with_head(&format!("[[exclusion]]\ncode = '{code}'\ntext = 'E'\n"));
    for code in ["paint", "NO-PAINT_2.a", "3rd"] {
        expect(&exclusion(code), &[]);
    }
    for code in ["", "no paint", "a/b", "-a", "ä"] {
        expect(&exclusion(code), &[("name", &format!("'{code}'"))]);
    }
}
