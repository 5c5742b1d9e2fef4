//! What the command line says of rules and data that are not right.

use std::fs;

use crate::command_line::{copy_jobs, copy_seed, folder, job, out, run_in, told};
use crate::harness::project;

const DIVIDES: &str = "\n[[assembly]]\ncode = \"SLIP\"\ntitle = \"Slip\"\nsection = \"Controls\"\n\n\
    [[assembly.line]]\nkind = \"material\"\nitem = \"CT-EXT\"\n\
    quantity = \"1 ft * (1 ft / (line_set.length - line_set.length))\"\n";

/// Rules that the check refuses could not be published: they price nothing, and are not loaded.
#[test]
fn rules_with_errors_price_nothing() {
    let folder = folder();
    let own = folder.join("own");
    copy_seed(&own);
    let rules = fs::read_to_string(own.join("rulebook.toml")).unwrap();
    fs::write(own.join("rulebook.toml"), format!("{rules}{DIVIDES}")).unwrap();
    let job = job("alderwick-closet");
    for command in [
        &["price", &job, "--seed", "own"][..],
        &["size", &job, "--seed", "own"],
        &["seed", "own"],
    ] {
        let output = run_in(&folder, command);
        let text = told(&output);
        assert_eq!(output.status.code(), Some(1), "{command:?}: {text}");
        assert_eq!(out(&output), "", "{command:?}");
        for word in [
            "error[may_divide_by_zero]",
            "own/rulebook.toml: 1 error, ",
            "nothing is priced by them; `tallyrule check own/rulebook.toml --seed own`",
        ] {
            assert!(text.contains(word), "{command:?}: {word} is not in {text}");
        }
    }
    assert_eq!(fs::read_dir(&folder).unwrap().count(), 1, "nothing else is made");
}

/// An example that does not come out keeps rules from being published: the price is told, and that beside it.
#[test]
fn examples_that_do_not_come_out_are_told_beside_the_price() {
    let folder = folder();
    let own = folder.join("own");
    copy_seed(&own);
    let rules = fs::read_to_string(own.join("rulebook.toml")).unwrap();
    let price = || run_in(&folder, &["price", &job("alderwick-closet"), "--seed", "own"]);
    let sound = price();
    assert_eq!((sound.status.code(), told(&sound).as_str()), (Some(0), ""));
    let (before, behind) = rules.split_once("{ total = \"").unwrap();
    fs::write(
        own.join("rulebook.toml"),
        format!("{before}{{ total = \"1{behind}"),
    )
    .unwrap();
    let output = price();
    assert_eq!(output.status.code(), Some(0));
    assert_eq!(out(&output), out(&sound));
    assert_eq!(
        told(&output),
        "these rules cannot be published as they are: 1 worked example that does not come out; \
         see `tallyrule check own/rulebook.toml --seed own`\n"
    );
}

/// Without a catalogue, what can be told of a rulebook is told, and what was not looked at.
#[test]
fn a_rulebook_is_checked_as_far_as_it_goes_without_a_catalogue() {
    let folder = folder();
    let rules = fs::read_to_string(project().join("seed-data/rulebook.toml")).unwrap();
    let check = |text: &str| {
        fs::write(folder.join("rules.toml"), text).unwrap();
        let output = run_in(&folder, &["check", "rules.toml"]);
        assert_eq!(output.status.code(), Some(1));
        let text = told(&output);
        assert!(
            text.contains("\nNot checked: the items, ")
                && text.contains("--seed DIR")
                && text
                    .ends_with("\nExit code 1: a rulebook that was not checked as a whole has not passed.\n"),
            "{text}"
        );
        text
    };
    let sound = check(&rules);
    assert!(
        sound.starts_with("rules.toml: 0 errors, 0 warnings, as far as can be told without a catalogue."),
        "{sound}"
    );
    let line = |text: &str, word: &str| text.lines().position(|line| line.contains(word)).unwrap() + 1;
    let named = rules.replacen("line_set.length", "line_set.lenght", 1);
    let found = check(&named);
    let place = format!("rules.toml:{}:", line(&named, "lenght"));
    assert!(
        found.contains(&place) && found.contains("did you mean: line_set.length"),
        "{found}"
    );
    let open = rules.replacen("[[derived]]", "[[derived]", 1);
    let found = check(&open);
    assert!(
        found.contains(&format!("rules.toml:{}:", line(&open, "[[derived]"))),
        "{found}"
    );
}

/// A file that is no data file is told by what it looks like, and not as a damaged one.
#[test]
fn a_file_of_another_kind_is_no_data_file() {
    let folder = folder();
    let looks = |bytes: &[u8]| {
        fs::write(folder.join("other"), bytes).unwrap();
        let output = run_in(&folder, &["price", &job("alderwick-closet"), "--data", "other"]);
        assert_eq!(output.status.code(), Some(1));
        assert_eq!(fs::read(folder.join("other")).unwrap(), bytes, "it is left alone");
        told(&output)
    };
    let json = fs::read(job("alderwick-closet")).unwrap();
    let head = "other: this is no data file of Tallyrule, which is a SQLite database: ";
    assert_eq!(looks(&json), format!("{head}it looks like JSON\n"));
    assert_eq!(looks(b"just some notes"), format!("{head}it looks like text\n"));
    assert_eq!(
        looks(b""),
        "the data file other is empty: there is no database in it\n"
    );
    assert!(looks(b"PK\x03\x04 and so on").contains("`tallyrule restore` puts a backup"));
    assert!(looks(&[0xFF; 64]).contains("if it did, the data file is damaged: keep it as it is"));
}

/// Every field of an entry that is wrong is told.
#[test]
fn every_fault_of_an_entry_of_the_seed_is_told() {
    let folder = folder();
    let own = folder.join("own");
    copy_seed(&own);
    let items = fs::read_to_string(own.join("items.toml")).unwrap();
    let faulty = items
        .replacen("unit = \"each\"", "unit = \"eahc\"", 1)
        .replacen("lead_days = 15", "lead_days = \"soon\"", 1)
        .replacen("supplier = ", "suplier = ", 1);
    fs::write(own.join("items.toml"), &faulty).unwrap();
    let output = run_in(&folder, &["price", &job("alderwick-closet"), "--seed", "own"]);
    let text = told(&output);
    assert_eq!(output.status.code(), Some(1));
    for word in [
        "unknown unit `eahc`",
        "\"soon\" came; a whole number, 0 or more is asked for",
        "there is no `suplier` here; did you mean supplier?",
    ] {
        assert!(text.contains(word), "{word} is not in {text}");
    }
    assert_eq!(text.matches("own/items.toml:").count(), 3, "{text}");
    let dear = items.replacen("amount = \"", "amount = \"99999999999", 1);
    fs::write(own.join("items.toml"), dear).unwrap();
    let output = run_in(&folder, &["price", &job("alderwick-closet"), "--seed", "own"]);
    let text = told(&output);
    assert!(
        text.contains(" is more than any pack costs; at most 1000000000.00 USD is taken"),
        "{text}"
    );
    // Of an entry that lacks several fields each is told, at the head of the entry.
    let head = items.find("[[item]]").unwrap();
    let lacks = |line: &&str| {
        ["description = ", "cost_code = ", "supplier = "]
            .iter()
            .any(|field| line.starts_with(field))
    };
    let (before, behind) = items.split_at(head);
    let mut lacking = 0;
    let rest: String = behind
        .split_inclusive('\n')
        .filter(|line| {
            let lacks = lacking < 3 && lacks(line);
            lacking += usize::from(lacks);
            !lacks
        })
        .collect();
    fs::write(own.join("items.toml"), format!("{before}{rest}")).unwrap();
    let output = run_in(&folder, &["price", &job("alderwick-closet"), "--seed", "own"]);
    let place = format!("own/items.toml:{}:", before.matches('\n').count() + 1);
    for field in ["description", "cost_code", "supplier"] {
        let said = format!("`{field}` is missing");
        let mut lines = told(&output)
            .lines()
            .map(str::to_owned)
            .collect::<Vec<_>>()
            .into_iter();
        assert!(
            lines.any(|line| line.contains(&place) && line.contains(&said)),
            "{}",
            told(&output)
        );
    }
}

/// A cost code that a charge writes down is held against the known ones, as over REST: against those of the rules that count,
/// too. The first rules of an office are only told what looks like a slip.
#[test]
fn cost_codes_of_charges_are_held_against_the_known_ones() {
    let folder = folder();
    let own = folder.join("own");
    copy_seed(&own);
    let rules = fs::read_to_string(own.join("rulebook.toml")).unwrap();
    let place = rules.find("cost_code = \"PER\"").unwrap();
    let slip = format!("{}{}", &rules[..place], rules[place..].replacen("PER", "PERR", 1));
    let line = rules[..place].matches('\n').count() + 1;
    copy_jobs(&folder);
    fs::write(folder.join("edited.toml"), &slip).unwrap();
    let error = format!("edited.toml:{line}:");
    assert_eq!(
        run_in(&folder, &["seed", "own", "--data", "data.sqlite"])
            .status
            .code(),
        Some(0)
    );
    for against in [["--seed", "own"], ["--data", "data.sqlite"]] {
        let output = run_in(&folder, &["check", "edited.toml", against[0], against[1]]);
        let text = told(&output);
        assert_eq!(output.status.code(), Some(1), "{against:?}: {text}");
        for word in [
            error.as_str(),
            "error[unknown_cost_code]",
            "`PERR` is no cost code of an item",
            "did you mean: PER",
        ] {
            assert!(text.contains(word), "{against:?}: {word} is not in {text}");
        }
        fs::write(folder.join("same.toml"), &rules).unwrap();
        let same = run_in(&folder, &["check", "same.toml", against[0], against[1]]);
        assert_eq!(same.status.code(), Some(0), "{}", told(&same));
    }
    fs::write(own.join("rulebook.toml"), &slip).unwrap();
    let output = run_in(&folder, &["check", "own/rulebook.toml", "--seed", "own"]);
    let text = out(&output);
    assert_eq!(output.status.code(), Some(0), "{}", told(&output));
    for word in [
        "warning[doubtful_cost_code]",
        "did you mean: PER",
        "no errors, 1 warning",
    ] {
        assert!(text.contains(word), "{word} is not in {text}");
    }
}
