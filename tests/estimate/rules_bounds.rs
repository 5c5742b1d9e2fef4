//! The sample's facts with bounds, and jobs within them.

use super::rules_sample::{decimal, names};
use estimate::quantity::fact::{Bounds, FactDef, FactKind, FactValue, WordNumber};
use estimate::rules::Names;
use proptest::prelude::*;
use rust_decimal::Decimal;

/// The sample's names, with bounds to the numbers.
pub fn bounded() -> Names {
    let mut names = names();
    for fact in &mut names.facts {
        let (least, greatest) = match &*fact.name {
            "site.ceiling_height" => ("4", "60"),
            "unit.count" => ("1", "20"),
            "site.attic_temperature" => ("-40", "180"),
            "cellar.volume" => ("20", "9000"),
            _ => ("0", "1000"),
        };
        if matches!(fact.kind, FactKind::Number(_)) {
            fact.bounds = Bounds::between(decimal(least), decimal(greatest));
        }
    }
    names
}

/// Facts within the bounds, their ends among them.
pub fn likely() -> impl Strategy<Value = Vec<FactValue>> {
    let input = FactValue::Number(decimal("1200"));
    let values: Vec<_> = bounded().facts.iter().map(within).collect();
    values.prop_map(move |mut values| {
        values.push(input);
        values
    })
}

/// A value of a fact within its bounds, the ends among them; where it has none, of a size that jobs have.
pub fn within(fact: &FactDef) -> BoxedStrategy<FactValue> {
    match &fact.kind {
        FactKind::Number(_) => {
            let least = fact.bounds.least.unwrap_or_default();
            let greatest = fact.bounds.greatest.unwrap_or_else(|| decimal("40000"));
            let at = move |share: i64| (least + (greatest - least) * Decimal::new(share, 3)).round_dp(1);
            prop_oneof![Just(0_i64), Just(1000), 0_i64..60, 0_i64..=1000]
                .prop_map(move |share| FactValue::Number(at(share).clamp(least, greatest)))
                .boxed()
        }
        FactKind::Flag => any::<bool>().prop_map(FactValue::Flag).boxed(),
        FactKind::Choice(domain) => (0..domain.words.len())
            .prop_map(|place| FactValue::Choice(WordNumber::at(place)))
            .boxed(),
    }
}
