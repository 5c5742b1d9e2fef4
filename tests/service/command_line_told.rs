//! What the command line tells: days, exit codes, figures and hints as a person reads them.

use std::fs;

use serde_json::Value;

use super::command_line::{folder, job, out, run_in, seed, told};

/// A word that is a day such as 2025-04-14.
fn days(text: &str) -> Vec<&str> {
    let is_day = |word: &&str| {
        word.len() == 10
            && word.bytes().enumerate().all(|(at, sign)| match at {
                4 | 7 => sign == b'-',
                _ => sign.is_ascii_digit(),
            })
    };
    text.split(|sign: char| !sign.is_ascii_digit() && sign != '-')
        .filter(is_day)
        .collect()
}

/// The same is printed on any day: nothing in it is of the day on which the program runs.
#[test]
fn what_is_printed_of_a_seed_has_no_day_behind_the_one_that_is_priced() {
    let seed = seed();
    let folder = folder();
    for name in ["pinfold-basement", "saltgate-replacement"] {
        let text = fs::read_to_string(job(name)).unwrap();
        let request: Value = serde_json::from_str(&text).unwrap();
        let priced_on = request["priced_on"].as_str().unwrap();
        for format in ["table", "json"] {
            let job = job(name);
            let arguments = ["price", &job, "--seed", &seed, "--explain", "--format", format];
            let printed = out(&run_in(&folder, &arguments));
            let days = days(&printed);
            assert!(days.len() > 20, "{name}, {format}: {days:?}");
            let later: Vec<_> = days.iter().filter(|day| **day > priced_on).collect();
            assert!(later.is_empty(), "{name}, {format}: {later:?}");
            if format == "table" {
                assert!(printed.contains("price by rulebook hollowmoor-standard version 1, "));
                assert!(!printed.contains("0001-01-01"), "{name}");
            }
        }
    }
}
