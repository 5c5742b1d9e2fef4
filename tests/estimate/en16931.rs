//! Document totals against EN 16931: the rules BR-CO-10 to BR-CO-17 on published figures.

use estimate::job::{BoughtKind, ManualLine};
use estimate::pricing::policy::TaxCategory;
use estimate::pricing::tax;
use estimate::quantity::rounding::Mode;
use estimate::quantity::{Currency, Decimal, Money};

use crate::bill_case::{Case, dec, manual, plain_policy, usd};
use crate::pricing::identities;
use crate::reference_rows::{Row, rows};

const DOCUMENTS: &str = include_str!("../reference/en16931_totals.csv");

/// EN 16931 BR-CO-17, figures of the rule's own unit tests (artefacts of the European Commission, commit
/// b6c9e06a5981 of 2026-04-14).
#[test]
fn br_co_17_tax_of_a_category() {
    let cases = [
        ("1000", "25", "250.00"),
        ("6491.34", "25", "1622.84"),
        ("-6491.34", "25", "-1622.84"),
        ("2141.05", "14", "299.75"),
        ("2141.19", "2.1", "44.96"),
        ("-2141.19", "5.5", "-117.77"),
    ];
    for (base, percent, expected) in cases {
        assert_eq!(
            tax::on_base(usd(base), dec(percent), Mode::HalfUp).unwrap(),
            usd(expected),
            "{base} at {percent}"
        );
    }
}

fn amounts(text: &str, currency: Currency) -> Vec<Money> {
    text.split(';')
        .filter(|part| !part.is_empty())
        .map(|part| currency.amount(part).unwrap())
        .collect()
}

/// Taxable amount, percent and tax of each category of a document.
fn subtotals(row: &Row, currency: Currency) -> Vec<(Money, Decimal, Money)> {
    let part = |text: &str| {
        let (base, rest) = text.split_once('@').unwrap();
        let (percent, tax) = rest.split_once('=').unwrap();
        let percent = if percent.is_empty() {
            Decimal::ZERO
        } else {
            dec(percent)
        };
        (
            currency.amount(base).unwrap(),
            percent,
            currency.amount(tax).unwrap(),
        )
    };
    row.text("tax_subtotals").split(';').map(part).collect()
}

/// Says which category each amount is in, so that every category adds up to its taxable amount: the file
/// does not tell.
fn assign(amounts: &[Money], left: &mut [i64]) -> Option<Vec<usize>> {
    let Some((first, others)) = amounts.split_first() else {
        return left.iter().all(|rest| *rest == 0).then(Vec::new);
    };
    (0..left.len()).find_map(|category| {
        left[category] -= first.minor();
        let rest = assign(others, left);
        left[category] += first.minor();
        rest.map(|rest| std::iter::once(category).chain(rest).collect())
    })
}

/// A document's lines, allowances and charges as a bill, priced under a policy that adds nothing.
fn document(row: &Row) -> (Case, usize) {
    let currency = Currency::parse(row.text("currency")).unwrap();
    let categories = subtotals(row, currency);
    let mut entries = amounts(row.text("lines"), currency);
    let lines = entries.len();
    for allowance in amounts(row.text("allowances"), currency) {
        entries.push(currency.minor(-allowance.minor()));
    }
    entries.extend(amounts(row.text("charges"), currency));
    let mut left: Vec<i64> = categories.iter().map(|(base, ..)| base.minor()).collect();
    let places = assign(&entries, &mut left).unwrap();
    let by_hand: Vec<ManualLine> = entries
        .iter()
        .zip(places)
        .map(|(amount, place)| manual(BoughtKind::Fee, &format!("category {place}"), "1", &amount.text()))
        .collect();
    let mut policy = plain_policy();
    policy.tax.categories = categories
        .iter()
        .enumerate()
        .map(|(place, (_, percent, _))| TaxCategory {
            code: format!("category {place}"),
            title: "category".to_owned(),
            uncl5305: if percent.is_zero() { "Z" } else { "S" }.to_owned(),
            percent: *percent,
        })
        .collect();
    for codes in [
        &mut policy.lines.freight,
        &mut policy.lines.consumables,
        &mut policy.lines.use_tax,
    ] {
        codes.tax_category = "category 0".to_owned();
    }
    let mut case = Case::by_hand(plain_policy(), by_hand);
    case.policy = estimate::pricing::CheckedPolicy::new(policy, currency).unwrap();
    (case, lines)
}

/// The official UBL examples of the EN 16931 artefacts, as the file's head says: every total of each document
/// comes out of our pricing. Rules by their names in the standard.
#[test]
fn totals_of_the_en_16931_example_documents() {
    for row in rows(DOCUMENTS) {
        let (case, count) = document(&row);
        let (priced, name) = (case.priced().unwrap(), row.text("example"));
        identities(&priced);
        let currency = case.policy.currency();
        let amount = |column: &str| {
            currency.amount(match row.text(column) {
                "" => "0",
                text => text,
            })
        };
        let amount = |column: &str| amount(column).unwrap();
        let sum = |lines: &[estimate::pricing::Line<'_, '_>]| {
            Money::sum(currency, lines.iter().map(|line| line.price)).unwrap()
        };
        let lines: Vec<_> = priced.lines.iter().collect();
        let (lines, others) = lines.split_at(count);
        let net = |sign: i64| {
            let of_sign = others
                .iter()
                .map(|line| line.price)
                .filter(|price| price.minor().signum() == sign);
            Money::sum(currency, of_sign).unwrap()
        };
        assert_eq!(sum(lines), amount("line_total"), "BR-CO-10 {name}");
        assert_eq!(net(-1).minor(), -amount("allowances").minor(), "BR-CO-11 {name}");
        assert_eq!(net(1), amount("charges"), "BR-CO-12 {name}");
        assert_eq!(priced.totals.net, amount("tax_exclusive"), "BR-CO-13 {name}");
        assert_eq!(priced.totals.tax, amount("tax_total"), "BR-CO-14 {name}");
        assert_eq!(priced.totals.total, amount("tax_inclusive"), "BR-CO-15 {name}");
        let payable = priced.totals.total.minus(amount("prepaid")).unwrap();
        assert_eq!(payable, amount("payable"), "BR-CO-16 {name}");
        let ours: Vec<_> = priced
            .totals
            .taxes
            .iter()
            .map(|tax| (tax.base, tax.rate, tax.amount))
            .collect();
        assert_eq!(ours, subtotals(&row, currency), "BR-CO-17 {name}");
    }
}
