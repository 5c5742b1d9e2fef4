//! Screening of the refrigerant charge: hand-worked rooms, and that it never approves.

use estimate::sizing::charge_limit::{ChargeInput, ChargeOutcome, ChargeScreening, FlagReason, screen};
use estimate::sizing::finding::Level;
use estimate::sizing::range::InputFault;
use estimate::sizing::refrigerant::{Concentration, ConcentrationLimit, Refrigerant};
use proptest::prelude::*;

use crate::reference_rows::{near, within};

const LB_KG: f64 = 0.453_592_37;
const OVER: ChargeOutcome = ChargeOutcome::FlagForSupplierOrEngineer {
    reason: FlagReason::OverLimit,
};

fn screened(limit: ConcentrationLimit, charge_lb: f64, room_ft3: f64) -> ChargeScreening {
    screen(&ChargeInput {
        concentration: Concentration {
            limit,
            source: "this test",
        },
        charge_kg: charge_lb * LB_KG,
        smallest_room_ft3: room_ft3,
    })
    .unwrap()
}

/// By hand: 0.25 × 0.291 kg/m³ × 384 ft³ (10.874 m³) = 0.791 kg = 1.74 lb, under the charge of 1.88 lb; in 918 ft³
/// 4.17 lb, over a charge of 2.16 lb. LFL 0.291 kg/m³ of R-454C: published A2L table (read).
#[test]
fn a_mildly_flammable_charge_by_hand() {
    let limit = Refrigerant::R454c.concentration().limit;
    let small = screened(limit, 1.88, 384.0);
    near("limit", small.limit_kg.get() / LB_KG, 1.74, 0.005);
    assert_eq!(small.outcome, OVER);
    assert_eq!(small.safety_class, "A2L");
    assert!(
        small.findings[0].message.contains("0.14 lb over"),
        "{}",
        small.findings[0].message
    );
    assert_eq!(small.findings[0].level, Level::Stop);
    let large = screened(limit, 2.16, 918.0);
    near("limit", large.limit_kg.get() / LB_KG, 4.17, 0.005);
    assert_eq!(large.outcome, ChargeOutcome::NoFlag);
    assert!(large.findings.is_empty());
}

/// ASHRAE 34 (from memory) states the same limits in lb per 1,000 ft³: R-134a 13, R-513A 20; a quarter of the LFL of
/// R-454C is 4.5 (worked by hand). Rounded to two digits there, so 3 %.
#[test]
fn limits_agree_with_pounds_per_thousand_cubic_feet() {
    for (fluid, pounds) in [
        (Refrigerant::R134a, 13.0),
        (Refrigerant::R513a, 20.0),
        (Refrigerant::R454c, 4.5),
    ] {
        let found = screened(fluid.concentration().limit, 1.0, 1_000.0);
        within(fluid.designation(), found.limit_kg.get() / LB_KG, pounds, 0.03);
    }
}

/// 2,280 ft³ at 20 lb per 1,000 ft³ (0.3204 kg/m³): 45.6 lb; 6 lb 6 oz passes.
#[test]
fn a_nonflammable_charge_by_hand() {
    let found = screened(ConcentrationLimit::A1 { rcl_kg_m3: 0.320_369 }, 6.375, 2_280.0);
    near("limit", found.limit_kg.get() / LB_KG, 45.6, 0.01);
    assert_eq!(found.outcome, ChargeOutcome::NoFlag);
    assert!(found.caution.contains("certified technicians"));
}

#[test]
fn a_highly_flammable_charge_is_flagged_in_any_amount() {
    let found = screened(Refrigerant::R290.concentration().limit, 0.1, 20_000.0);
    let flag = ChargeOutcome::FlagForSupplierOrEngineer {
        reason: FlagReason::HighlyFlammable,
    };
    assert_eq!(found.outcome, flag);
    assert!(
        found
            .findings
            .iter()
            .any(|f| f.code == "charge_limit.highly_flammable")
    );
}

#[test]
fn a_charge_near_its_limit_is_told() {
    let found = screened(ConcentrationLimit::A2l { lfl_kg_m3: 0.291 }, 4.0, 1_000.0);
    assert_eq!(found.outcome, ChargeOutcome::NoFlag);
    assert_eq!(found.findings[0].code, "charge_limit.near");
    assert_eq!(found.findings[0].level, Level::Caution);
}

#[test]
fn an_input_outside_its_range_is_named() {
    let good = ChargeInput {
        concentration: Refrigerant::R134a.concentration(),
        charge_kg: 1.0,
        smallest_room_ft3: 500.0,
    };
    let unlimited = Concentration {
        limit: ConcentrationLimit::A1 {
            rcl_kg_m3: f64::INFINITY,
        },
        source: "this test",
    };
    for (input, expected) in [
        (
            ChargeInput {
                charge_kg: -1.0,
                ..good
            },
            "refrigerant charge",
        ),
        (
            ChargeInput {
                smallest_room_ft3: 0.0,
                ..good
            },
            "smallest room",
        ),
        (
            ChargeInput {
                concentration: unlimited,
                ..good
            },
            "concentration limit",
        ),
    ] {
        match screen(&input) {
            Err(InputFault::OutOfRange { field, .. }) => assert_eq!(field, expected),
            other => panic!("{expected}: {other:?}"),
        }
    }
}

proptest! {
    #[test]
    fn a_larger_room_or_a_smaller_charge_never_raises_a_flag(
        lfl in 0.05..0.5f64, charge in 0.1..50.0f64, room in 50.0..5_000.0f64, factor in 1.0..10.0f64
    ) {
        let limit = ConcentrationLimit::A2l { lfl_kg_m3: lfl };
        let here = screened(limit, charge, room);
        if here.outcome == ChargeOutcome::NoFlag {
            prop_assert_eq!(screened(limit, charge, room * factor).outcome, ChargeOutcome::NoFlag);
            prop_assert_eq!(screened(limit, charge / factor, room).outcome, ChargeOutcome::NoFlag);
        }
        // The room that is said to be needed is the one where the flag falls.
        let needed = here.volume_needed_ft3.get();
        prop_assert_eq!(screened(limit, charge, needed * 1.000_001).outcome, ChargeOutcome::NoFlag);
        prop_assert_eq!(screened(limit, charge, (needed * 0.999_999).max(1.0)).outcome, OVER);
    }
}
