//! The keys of the demonstration: fixed, printed, known to everybody. They are in the program and never in a database, so
//! that they end with `--demo`.

use subtle::ConstantTimeEq;

use super::{Caller, Role};

/// Each key with the invented person that it stands for.
pub const DEMO_KEYS: [(&str, Role, &str); 6] = [
    ("trk_demo_estimator", Role::Estimator, "Ines Corvane"),
    ("trk_demo_rule_keeper", Role::RuleKeeper, "Bastian Ombrel"),
    ("trk_demo_accounting", Role::Accounting, "Maud Tessaly"),
    ("trk_demo_field", Role::Field, "Joss Quenby"),
    ("trk_demo_owner", Role::Owner, "Tilda Morrane"),
    ("trk_demo_auditor", Role::Auditor, "Edric Vaunt"),
];

/// Who comes in by a key of the demonstration.
pub(super) fn caller(text: &str) -> Option<Caller> {
    let same = |key: &str| bool::from(key.as_bytes().ct_eq(text.as_bytes()));
    let (key, role, person) = DEMO_KEYS.into_iter().find(|(key, _, _)| same(key))?;
    Some(Caller {
        person: person.to_owned(),
        role,
        key: key.to_owned(),
        shared: false,
    })
}
