//! Laws of the rules, on generated formulas, rulebooks and facts.
//!
//! The reference evaluator below computes with exact fractions, straight from the tree that was
//! generated, and knows nothing of the program: agreement within the last places of a Decimal shows
//! that units, conversions and precedence are right, not only consistent.

use super::rules_bounds::{bounded, likely, within};
use super::rules_offices::{nearly, nearly_right, office};
use super::rules_sample::{findings, names, unit, with_head};
use estimate::quantity::fact::FactValue;
use estimate::rules::formula::parse;
use estimate::rules::trace::Shown;
use estimate::rules::{Checked, RunInput, RunReason, Severity, check_toml, parse_toml, render};
use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{Signed, Zero};
use proptest::prelude::*;
use rust_decimal::Decimal;

type Exact = BigRational;

/// A formula as text, and its value in SI by exact arithmetic; none where it divides by zero.
#[derive(Debug, Clone)]
struct Made {
    text: String,
    value: Option<Exact>,
    /// The largest number on the way, in SI: what rounding is measured against.
    largest: Exact,
}

fn exact(value: Decimal) -> Exact {
    Exact::new(value.mantissa().into(), BigInt::from(10).pow(value.scale()))
}

/// Size of a length unit in metres, written out here by hand: SP 811, appendix B.
fn metres(symbol: &str) -> Exact {
    let (num, den) = match symbol {
        "ft" => (3048, 10_000),
        "in" => (254, 10_000),
        "yd" => (9144, 10_000),
        "cm" => (1, 100),
        _ => (1, 1),
    };
    Exact::new(num.into(), den.into())
}

fn literal() -> impl Strategy<Value = Decimal> {
    (0_i64..10_000, 0_u32..3).prop_map(|(mantissa, scale)| Decimal::new(mantissa, scale).normalize())
}

fn leaf_length() -> impl Strategy<Value = Made> {
    let written =
        (literal(), prop::sample::select(vec!["ft", "in", "yd", "cm", "m"])).prop_map(|(value, symbol)| {
            let size = exact(value) * metres(symbol);
            Made {
                text: format!("{value} {symbol}"),
                value: Some(size.clone()),
                largest: size,
            }
        });
    let fact = Just(()).prop_map(|()| {
        let size = Exact::from_integer(62.into()) * metres("ft");
        Made {
            text: "line_set.length".into(),
            value: Some(size.clone()),
            largest: size,
        }
    });
    prop_oneof![3 => written, 1 => fact]
}

fn leaf_plain() -> impl Strategy<Value = Made> {
    literal().prop_map(|value| {
        let size = exact(value);
        Made {
            text: value.to_string(),
            value: Some(size.clone()),
            largest: size,
        }
    })
}

fn join(left: &Made, right: &Made, text: String, op: impl Fn(&Exact, &Exact) -> Option<Exact>) -> Made {
    let value = left
        .value
        .as_ref()
        .zip(right.value.as_ref())
        .and_then(|(a, b)| op(a, b));
    let own = value.clone().map(|value| value.abs()).unwrap_or_else(Exact::zero);
    let largest = left.largest.clone().max(right.largest.clone()).max(own);
    Made { text, value, largest }
}

fn sum(left: Made, right: Made) -> Made {
    join(
        &left,
        &right,
        format!("({} + {})", left.text, right.text),
        |a, b| Some(a + b),
    )
}

fn difference(left: Made, right: Made) -> Made {
    join(
        &left,
        &right,
        format!("({} - {})", left.text, right.text),
        |a, b| Some(a - b),
    )
}

fn product(left: Made, right: Made) -> Made {
    join(
        &left,
        &right,
        format!("{} * {}", left.text, right.text),
        |a, b| Some(a * b),
    )
}

fn least(left: Made, right: Made) -> Made {
    join(
        &left,
        &right,
        format!("min({}, {})", left.text, right.text),
        |a, b| Some(a.min(b).clone()),
    )
}

fn ratio(left: Made, right: Made) -> Made {
    // Divisors are kept away from zero, so that the error of a quotient stays small.
    let text = format!("({} / max({}, 1 cm))", left.text, right.text);
    join(&left, &right, text, |a, b| Some(a / b.max(&metres("cm"))))
}

fn choose(left: Made, right: Made, other: Made) -> Made {
    let text = format!(
        "(if {} < {} then {} else {})",
        left.text, right.text, other.text, left.text
    );
    let taken = match (&left.value, &right.value) {
        (Some(a), Some(b)) if a < b => other.clone(),
        (Some(_), Some(_)) => left.clone(),
        _ => Made {
            value: None,
            ..left.clone()
        },
    };
    let largest = left.largest.max(right.largest).max(other.largest);
    Made {
        text,
        value: taken.value,
        largest,
    }
}

/// Lengths, made of lengths and plain numbers to a depth of a few levels.
fn length() -> impl Strategy<Value = Made> {
    let leaf = leaf_length().boxed();
    leaf.prop_recursive(4, 24, 3, |inner| {
        let plain = prop_oneof![
            leaf_plain(),
            (inner.clone(), inner.clone()).prop_map(|(a, b)| ratio(a, b)),
        ];
        prop_oneof![
            (inner.clone(), inner.clone()).prop_map(|(a, b)| sum(a, b)),
            (inner.clone(), inner.clone()).prop_map(|(a, b)| difference(a, b)),
            (inner.clone(), inner.clone()).prop_map(|(a, b)| least(a, b)),
            (inner.clone(), plain.clone()).prop_map(|(a, b)| product(a, b)),
            (plain, inner.clone()).prop_map(|(a, b)| product(a, b)),
            (inner.clone(), inner.clone(), inner).prop_map(|(a, b, c)| choose(a, b, c)),
        ]
    })
}

/// The value of a formula in a unit of length, on the sample job.
fn evaluate(formula: &str, symbol: &str) -> Result<Decimal, String> {
    let text = with_head(&format!(
        "[[derived]]\nname = 'result'\nunit = '{symbol}'\nformula = '{formula}'\n\
         [[check]]\ncode = 'c'\nlevel = 'caution'\nwhen = 'true'\nmessage = '{{result}}'\n"
    ));
    let (_, checked) =
        check_toml(&text, &names()).map_err(|findings| render(&findings, "generated", &text))?;
    let values = super::rules_sample::values();
    let input = RunInput {
        facts: &values,
        unknown: &[],
        explain: true,
    };
    let outcome = checked.program.run(input).map_err(|fault| fault.to_string())?;
    let trace = outcome.trace.ok_or("no trace")?;
    match trace.of_derived("result").ok_or("no result")?.result {
        Shown::Number(value, own) if own == unit(symbol) => Ok(value),
        other => Err(format!("{other:?}")),
    }
}

/// What only the figures of a rulebook are refused for, each formula being of its type.
const OF_FIGURES: [&str; 6] = [
    "may_divide_by_zero",
    "may_be_too_large",
    "always_negative",
    "always_too_much_waste",
    "always_beyond_max_factor",
    "no_crew",
];

/// Whether a run of a checked rulebook gives a result, explained or not alike; or comes below zero where the check
/// has said that it may.
fn keeps_its_promise(checked: &Checked, facts: &[FactValue]) -> Result<(), TestCaseError> {
    let may_be = |code: &str| checked.warnings.iter().any(|finding| finding.code == code);
    let (may_be_negative, may_waste) = (may_be("may_be_negative"), may_be("may_be_too_much_waste"));
    for explain in [false, true] {
        let input = RunInput {
            facts,
            unknown: &[],
            explain,
        };
        match checked.program.run(input) {
            Err(fault) if may_be_negative && matches!(fault.reason, RunReason::Negative { .. }) => {}
            Err(fault) if may_waste && matches!(fault.reason, RunReason::TooMuchWaste { .. }) => {}
            Err(fault) => return Err(TestCaseError::fail(fault.to_string())),
            Ok(_) => {}
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]

    #[test]
    fn evaluation_agrees_with_exact_fractions(made in length(), symbol in prop::sample::select(vec!["ft", "in", "m"])) {
        match (evaluate(&made.text, symbol), &made.value) {
            (Ok(got), Some(value)) => {
                let got = exact(got) * metres(symbol);
                // 28 digits are kept; a few of them may go in a chain of operations.
                let allowed = (Exact::from_integer(1.into()) + made.largest.clone())
                    * Exact::new(1.into(), BigInt::from(10).pow(18));
                prop_assert!((got - value).abs() <= allowed, "{} in {symbol}", made.text);
            }
            (Err(fault), _) => prop_assert!(fault.contains("too large"), "{}: {fault}", made.text),
            (Ok(got), None) => prop_assert!(false, "{}: {got}", made.text),
        }
    }

    #[test]
    fn printing_and_reading_give_the_same_tree(text in nearly()) {
        let tree = parse(&text);
        if let Ok(tree) = tree {
            let printed = tree.to_string();
            let again = parse(&printed).unwrap_or_else(|flaw| panic!("{text}\n{printed}\n{flaw:?}"));
            prop_assert_eq!(again.to_string(), printed.clone());
            // Fully bracketed by its own shape: the same tree, whatever was bracketed before.
            prop_assert_eq!(bracketed(&again), bracketed(&tree), "{} as {}", text, printed);
        }
    }

    /// What fits where it stands is refused for its figures only; what passes runs on every job within the bounds.
    #[test]
    fn a_rulebook_that_fits_runs_or_its_figures_are_told(
        text in office(), jobs in prop::collection::vec(likely(), 12)
    ) {
        match check_toml(&text, &bounded()) {
            Ok((_, checked)) => {
                for facts in &jobs {
                    keeps_its_promise(&checked, facts)?;
                }
            }
            Err(found) => prop_assert!(
                found.iter().all(|finding| {
                    finding.severity == Severity::Warning || OF_FIGURES.contains(&finding.code)
                }),
                "{}", render(&found, "fitting", &text)
            ),
        }
    }

    /// The promise of the check, on rulebooks that are nearly right: each has one word or sign exchanged, and
    /// whatever still passes runs on every job within the bounds.
    #[test]
    fn what_passes_the_check_runs_on_every_job(
        text in nearly_right(), jobs in prop::collection::vec(likely(), 12)
    ) {
        if let Ok((_, checked)) = check_toml(&text, &bounded()) {
            for facts in &jobs {
                keeps_its_promise(&checked, facts)?;
            }
        }
    }

    #[test]
    fn any_text_is_read_or_told_wrong_without_panic(text in ".{0,80}") {
        let _ = parse(&text);
        let _ = parse_toml(&text).map_err(|findings| render(&findings, "any", &text));
    }

    #[test]
    fn any_text_in_a_formula_is_told_within_its_line(text in "[ -~]{0,40}") {
        let rulebook = with_head(&format!("[[derived]]\nname = 'd'\nunit = 'ft'\nformula = {}\n", toml_string(&text)));
        let found = findings(&rulebook);
        for finding in &found {
            prop_assert!(finding.span.end <= rulebook.len());
            prop_assert!(rulebook.is_char_boundary(finding.span.start) && rulebook.is_char_boundary(finding.span.end));
        }
        prop_assert!(!render(&found, "any", &rulebook).is_empty());
    }

    /// A rulebook with a piece cut out, doubled or replaced is told wrong or runs; it never panics.
    #[test]
    fn a_damaged_rulebook_is_told_wrong_without_panic(
        text in office(), at in any::<prop::sample::Index>(), length in 0_usize..40, piece in "[ -~\n]{0,12}"
    ) {
        let letters: Vec<char> = text.chars().collect();
        let start = at.index(letters.len());
        let end = (start + length).min(letters.len());
        let damaged: String =
            letters[..start].iter().copied().chain(piece.chars()).chain(letters[end..].iter().copied()).collect();
        match check_toml(&damaged, &names()) {
            Ok((_, checked)) => {
                let values = super::rules_sample::values();
                let _ = checked.program.run(RunInput { facts: &values, unknown: &[], explain: true });
            }
            Err(found) => prop_assert!(!render(&found, "damaged", &damaged).is_empty()),
        }
    }
}

fn toml_string(text: &str) -> String {
    toml::Value::String(text.to_owned()).to_string()
}

/// The shape of a tree, every part in brackets.
fn bracketed(expr: &estimate::rules::formula::Expr) -> String {
    let parts: Vec<String> = expr.node.parts().map(bracketed).collect();
    if parts.is_empty() {
        expr.to_string()
    } else {
        format!("{}({})", head(expr), parts.join("; "))
    }
}

fn head(expr: &estimate::rules::formula::Expr) -> String {
    use estimate::rules::formula::Node;
    match &expr.node {
        Node::Negate(_) => "negate".into(),
        Node::Not(_) => "not".into(),
        Node::Arithmetic(sum, _) => sum.sign().into(),
        Node::Comparison(compare, _) => compare.sign().into(),
        Node::Logic(join, _) => join.word().into(),
        Node::If(_) => "if".into(),
        Node::Call(call) => call.function.name().into(),
        Node::Lookup { table, .. } => table.clone(),
        _ => String::new(),
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// The same promise on the demonstration's rulebook: whatever the facts within their bounds, it has a result,
    /// and explaining a run does not change it.
    #[test]
    fn the_demonstration_runs_on_any_facts(seed in any::<u64>()) {
        use proptest::strategy::ValueTree;
        use proptest::test_runner::{RngAlgorithm, TestRng, TestRunner};
        let program = demonstration().program();
        let mut bytes = [0_u8; 32];
        bytes[..8].copy_from_slice(&seed.to_le_bytes());
        let rng = TestRng::from_seed(RngAlgorithm::ChaCha, &bytes);
        let mut runner = TestRunner::new_with_rng(ProptestConfig::default(), rng);
        let facts: Vec<FactValue> = program
            .facts()
            .iter()
            .map(|def| within(def).new_tree(&mut runner).unwrap().current())
            .collect();
        let run = |explain| {
            let run = program.run(RunInput { facts: &facts, unknown: &[], explain });
            run.map_err(|fault| TestCaseError::fail(fault.to_string()))
        };
        let (plain, explained) = (run(false)?, run(true)?);
        prop_assert_eq!(&plain.needs, &explained.needs);
        prop_assert_eq!(&plain.labour, &explained.labour);
        prop_assert_eq!(&plain.amounts, &explained.amounts);
        prop_assert!(plain.needs.iter().all(|need| need.quantity > Decimal::ZERO));
    }
}

/// The demonstration's rulebook, compiled once for all cases.
fn demonstration() -> &'static estimate::workbook::Workbook {
    static DEMO: std::sync::OnceLock<super::demo::Demo> = std::sync::OnceLock::new();
    &DEMO.get_or_init(super::demo::Demo::load).workbook
}

/// The laws above would say nothing if hardly anything passed.
#[test]
fn a_good_part_of_generated_rulebooks_passes() {
    use proptest::strategy::ValueTree;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let mut passed = |offices: BoxedStrategy<String>| {
        let passes = |text: String| check_toml(&text, &bounded()).is_ok();
        let tries = (0..100).filter(|_| passes(offices.new_tree(&mut runner).unwrap().current()));
        tries.count()
    };
    let (nearly, fitting) = (passed(nearly_right().boxed()), passed(office().boxed()));
    assert!((5..=90).contains(&nearly), "{nearly} of 100");
    assert!((20..=95).contains(&fitting), "{fitting} of 100");
}
