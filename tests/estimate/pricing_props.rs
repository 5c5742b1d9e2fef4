//! What must hold of any bill that is priced: every identity, fair shares, the same answer twice.

use estimate::job::{BoughtKind, Discount, ManualLine, Override, Replaced};
use estimate::pricing::policy::{
    DepositLimit, Freight, HoursRounding, HoursTowards, Instalment, Policy, Profit, TaxTreatment,
};
use estimate::pricing::{PricingFault, Terms};
use estimate::quantity::rounding::{Mode, share_out};
use estimate::quantity::{Currency, Decimal, Money};
use proptest::prelude::*;

use crate::bill_case::{Case, change, manual, manual_hours, plain_policy};
use crate::pricing::identities;

fn usd(minor: i64) -> Money {
    Currency::parse("USD").unwrap().minor(minor)
}

fn hundredths(range: std::ops::Range<i64>) -> impl Strategy<Value = Decimal> {
    range.prop_map(|value| Decimal::new(value, 2))
}

fn a_line() -> impl Strategy<Value = ManualLine> {
    let kind = prop_oneof![
        Just(BoughtKind::Material),
        Just(BoughtKind::Subcontract),
        Just(BoughtKind::Fee)
    ];
    let category = prop_oneof![Just("goods"), Just("services")];
    let bought = (kind, category, 0_i64..5_000_000, -20_000_i64..2_000_000).prop_map(
        |(kind, category, quantity, cost)| {
            let (quantity, cost) = (Decimal::new(quantity, 4), Decimal::new(cost, 4));
            manual(kind, category, &quantity.to_string(), &cost.to_string())
        },
    );
    let hours = (prop_oneof![Just("lead"), Just("mate")], 0_i64..400_000)
        .prop_map(|(class, hours)| manual_hours(class, &Decimal::new(hours, 4).to_string()));
    prop_oneof![3 => bought, 1 => hours]
}

fn a_schedule() -> impl Strategy<Value = Vec<Instalment>> {
    prop::collection::vec(1_i64..60, 1..5).prop_map(|parts| {
        let mut left = Decimal::ONE_HUNDRED;
        let last = parts.len() - 1;
        let mut schedule = Vec::new();
        for (index, part) in parts.iter().enumerate() {
            let share = if index == last {
                left
            } else {
                left.min(Decimal::from(*part))
            };
            left -= share;
            schedule.push(Instalment {
                label: index.to_string(),
                share,
                due_after_days: None,
            });
        }
        schedule
    })
}

fn a_policy() -> impl Strategy<Value = Policy> {
    let profit = prop_oneof![
        hundredths(0..6_000).prop_map(|percent| Profit::Margin { percent }),
        hundredths(0..9_000).prop_map(|percent| Profit::Markup { percent }),
    ];
    let freight = prop_oneof![
        hundredths(0..50_000).prop_map(|amount| Freight::Fixed { amount }),
        hundredths(0..900).prop_map(|percent| Freight::Percent { percent }),
    ];
    let treatment = prop_oneof![
        Just(TaxTreatment::TaxOnSale),
        Just(TaxTreatment::ContractorPays),
        Just(TaxTreatment::Exempt)
    ];
    let mode = prop_oneof![Just(Mode::HalfUp), Just(Mode::HalfEven)];
    let hours = (1_i64..200, any::<bool>()).prop_map(|(step, up)| HoursRounding {
        step: Decimal::new(step, 2),
        towards: if up {
            HoursTowards::Up
        } else {
            HoursTowards::Nearest
        },
    });
    let limit = prop::option::of(
        (hundredths(0..10_000), hundredths(0..200_000))
            .prop_map(|(percent, amount)| DepositLimit { percent, amount }),
    );
    let percents = prop::collection::vec(hundredths(0..3_000), 5);
    (
        profit,
        freight,
        treatment,
        mode,
        hours,
        a_schedule(),
        limit,
        percents,
    )
        .prop_map(
            |(profit, freight, treatment, rounding, hours, schedule, deposit_limit, percents)| {
                let mut policy = Policy {
                    profit,
                    freight,
                    rounding,
                    hours,
                    schedule,
                    deposit_limit,
                    consumables_percent: percents[0],
                    contingency_percent: percents[1],
                    overhead_percent: percents[2],
                    subcontract_markup_percent: percents[3],
                    warranty_reserve_percent: percents[4],
                    ..plain_policy()
                };
                policy.tax.treatment = treatment;
                policy
            },
        )
}

/// Overrides that fit the lines: a price, hours or a unit cost on a line put in by hand.
fn some_overrides(lines: &[ManualLine], seeds: &[(usize, u8, i64)]) -> Vec<Override> {
    let mut seen = std::collections::HashSet::new();
    let fits = seeds
        .iter()
        .filter(|(at, kind, _)| *at < lines.len() && seen.insert((*at, kind % 2)));
    fits.map(|(at, kind, value)| {
        let replaced = match kind % 2 {
            0 => Replaced::Price(usd(*value)),
            _ => Replaced::UnitCost(Decimal::new(value.abs(), 4)),
        };
        change(&format!("manual:{}", at + 1), replaced)
    })
    .collect()
}

fn a_case() -> impl Strategy<Value = Case> {
    let lines = prop::collection::vec(a_line(), 0..25);
    let seeds = prop::collection::vec((0_usize..25, any::<u8>(), -5_000_i64..200_000), 0..4);
    let discount = prop::option::of(prop_oneof![
        hundredths(0..10_000).prop_map(Discount::Percent),
        (0_i64..50_000).prop_map(|minor| Discount::Amount(usd(minor))),
    ]);
    (a_policy(), lines, seeds, discount).prop_map(|(policy, lines, seeds, discount)| {
        let overrides = some_overrides(&lines, &seeds);
        let mut case = Case::by_hand(policy, lines);
        case.overrides = overrides;
        case.terms = Terms {
            discount,
            treatment: None,
        };
        case
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn every_identity_holds_or_the_job_is_refused_for_a_named_reason(case in a_case()) {
        match case.priced() {
            Ok(priced) => {
                identities(&priced);
                prop_assert!(priced.payment_schedule.iter().all(|part| part.amount.minor() >= 0));
                let margin_only = case.overrides.is_empty() && case.terms.discount.is_none();
                prop_assert!(!margin_only || priced.totals.profit.minor() >= -1);
                // The same inputs give the same bytes.
                let again = serde_json::to_string(&case.priced().unwrap()).unwrap();
                prop_assert_eq!(serde_json::to_string(&priced).unwrap(), again);
            }
            Err(faults) => {
                let expected = |fault: &PricingFault| matches!(
                    fault,
                    PricingFault::NegativeCost { .. }
                        | PricingFault::NegativePrice { .. }
                        | PricingFault::NegativeTotal { .. }
                        | PricingFault::Discount { .. }
                );
                prop_assert!(faults.iter().all(expected), "{:?}", faults);
            }
        }
    }

    #[test]
    fn every_price_and_discount_is_within_a_cent_of_its_exact_share(
        policy in a_policy(),
        lines in prop::collection::vec(a_line(), 1..25),
        discount in hundredths(0..10_000),
    ) {
        let mut policy = policy;
        policy.subcontract_markup_percent = Decimal::ZERO;
        let mut case = Case::by_hand(policy, lines);
        case.terms.discount = Some(Discount::Percent(discount));
        let Ok(priced) = case.priced() else { return Ok(()) };
        let totals = &priced.totals;
        prop_assume!(!totals.cost.is_zero() && !totals.price.is_zero());
        for line in priced.lines.iter() {
            let price = i128::from(totals.price.minor()) * i128::from(line.cost.minor());
            let whole = i128::from(totals.cost.minor());
            prop_assert!((i128::from(line.price.minor()) * whole - price).abs() < whole);
            let discount = i128::from(totals.discount.minor()) * i128::from(line.price.minor());
            let whole = i128::from(totals.price.minor());
            prop_assert!((i128::from(line.discount.minor()) * whole - discount).abs() < whole);
        }
    }

    #[test]
    fn shares_add_up_and_each_is_within_a_unit(
        total in -1_000_000_i64..1_000_000,
        weights in prop::collection::vec(-1_000_i64..10_000, 0..40),
    ) {
        let parts = share_out(usd(total), weights.iter().copied()).unwrap();
        prop_assert_eq!(parts.len(), weights.len());
        prop_assume!(!weights.is_empty());
        prop_assert_eq!(parts.iter().map(|part| part.minor()).sum::<i64>(), total);
        let whole: i64 = weights.iter().sum();
        prop_assume!(whole != 0);
        for (part, weight) in parts.iter().zip(&weights) {
            prop_assert!((part.minor() * whole - total * weight).abs() < whole.abs());
        }
    }
}
