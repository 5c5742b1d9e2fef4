//! Choice of the unit class: hand-worked jobs, plain refusals, and laws of a fair choice.

use estimate::sizing::class::{
    Candidate, Capacity, CapacityTable, Choice, Need, RatedPoint, Reason, assess, select,
};
use estimate::sizing::range::InputFault;
use proptest::prelude::*;

use crate::reference_rows::near;

fn celsius(t_f: f64) -> f64 {
    (t_f - 32.0) / 1.8
}

/// Invented classes, rated at a 55 °F cellar and 90 °F condenser air, losing 1 % per °F above (common practice).
fn rated(class: &str, capacity_btu_h: f64, volume_limit_ft3: f64) -> Candidate {
    Candidate {
        class: class.to_owned(),
        volume_limit_ft3: Some(volume_limit_ft3),
        capacity: Capacity::Rated(RatedPoint {
            capacity_btu_h,
            condenser_air_c: celsius(90.0),
            cellar_c: celsius(55.0),
            loss_per_k: 0.018,
            highest_condenser_air_c: celsius(115.0),
        }),
    }
}

fn classes() -> Vec<Candidate> {
    vec![
        rated("large", 14_000.0, 4_000.0),
        rated("small", 3_000.0, 1_000.0),
        rated("medium", 6_000.0, 1_800.0),
        rated("big", 9_000.0, 2_600.0),
    ]
}

fn need(required_btu_h: f64, volume_ft3: f64, condenser_f: f64) -> Need {
    Need {
        required_btu_h,
        volume_ft3,
        condenser_air_c: celsius(condenser_f),
        cellar_c: celsius(55.0),
        most_units: 1,
    }
}

fn table(class: &str, rows: &[Vec<f64>]) -> Candidate {
    let condenser = [80.0, 95.0, 110.0].map(celsius).to_vec();
    let cellar = [50.0, 55.0, 60.0].map(celsius).to_vec();
    Candidate {
        class: class.to_owned(),
        volume_limit_ft3: None,
        capacity: Capacity::Table(CapacityTable::new(condenser, cellar, rows).unwrap()),
    }
}

fn codes(choice: &Choice) -> Vec<&str> {
    choice
        .selection
        .as_ref()
        .unwrap()
        .findings
        .iter()
        .map(|f| f.code)
        .collect()
}

/// By hand: 3,000 × (1 − 0.01 × 8) = 2,760 at 98 °F, 2.04 times 1,356; 2,550 at 105 °F, 1.12 times 2,283;
/// 14,000 × 0.80 = 11,200 at 110 °F, 1.06 times 10,564.
#[test]
fn hand_worked_choices() {
    for (required, volume, condenser_f, class, capacity, ratio, code) in [
        (
            1_356.0,
            384.0,
            98.0,
            "small",
            2_760.0,
            2.035,
            "class.oversize_smallest",
        ),
        (2_283.0, 918.0, 105.0, "small", 2_550.0, 1.117, "class.tight"),
        (10_564.0, 2_280.0, 110.0, "large", 11_200.0, 1.060, "class.tight"),
    ] {
        let choice = select(&classes(), &need(required, volume, condenser_f)).unwrap();
        let selection = choice.selection.clone().unwrap();
        assert_eq!((selection.class.as_str(), selection.units), (class, 1));
        near(class, selection.capacity_btu_h.get(), capacity, 1e-6);
        near(class, selection.spare_btu_h.get(), capacity - required, 1e-6);
        near(class, selection.ratio.unwrap().get(), ratio, 0.001);
        assert_eq!(codes(&choice), [code, "class.capacity_estimated"]);
    }
}

/// 2 × 9,000 × 0.90 = 16,200 at 100 °F, 1.53 times 10,564, where no single unit has the capacity.
#[test]
fn two_units_when_one_will_not_do() {
    let two_classes = [rated("big", 9_000.0, 2_600.0), rated("small", 3_000.0, 1_000.0)];
    let wish = Need {
        most_units: 2,
        ..need(10_564.0, 2_280.0, 100.0)
    };
    let choice = select(&two_classes, &wish).unwrap();
    let selection = choice.selection.unwrap();
    assert_eq!((selection.class.as_str(), selection.units), ("big", 2));
    near("both", selection.capacity_btu_h.get(), 16_200.0, 1e-6);
    near("ratio", selection.ratio.unwrap().get(), 1.533, 0.001);
    near(
        "volume",
        selection.volume_share.unwrap().get(),
        2_280.0 / 5_200.0,
        1e-9,
    );
    let tried: Vec<_> = choice
        .refusals
        .iter()
        .map(|r| (r.class.as_str(), r.units))
        .collect();
    assert_eq!(tried, [("small", 1), ("big", 1), ("small", 2)]);
}

/// Single glass: 17,881 Btu/h are more than any single class has.
#[test]
fn nothing_fits_and_every_reason_is_told_in_plain_words() {
    let choice = select(&classes(), &need(17_881.0, 2_280.0, 110.0)).unwrap();
    assert!(choice.selection.is_none());
    let told: Vec<String> = choice.refusals.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "small is limited to 1000 ft³ and the cellar has 2280, 1280 over; \
             does 2400 Btu/h where 17881 are needed, 15481 short",
            "medium is limited to 1800 ft³ and the cellar has 2280, 480 over; \
             does 4800 Btu/h where 17881 are needed, 13081 short",
            "big does 7200 Btu/h where 17881 are needed, 10681 short",
            "large does 11200 Btu/h where 17881 are needed, 6681 short",
        ]
    );
}

#[test]
fn a_larger_class_than_needed_is_told_but_may_be_wished() {
    let wish = need(2_283.0, 918.0, 105.0);
    let choice = assess(&rated("medium", 6_000.0, 1_800.0), 1, &wish).unwrap();
    assert_eq!(codes(&choice), ["class.oversize", "class.capacity_estimated"]);
    let short = assess(&rated("small", 3_000.0, 800.0), 1, &wish).unwrap();
    assert!(short.selection.is_none());
    assert!(matches!(short.refusals[0].reasons[0], Reason::VolumeOver { .. }));
}

/// Between 80 and 95 °F at two thirds, between 50 and 55 °F in the middle, by hand:
/// at 80 °F (3,000 + 3,200)/2 = 3,100; at 95 °F (2,700 + 2,900)/2 = 2,800; 3,100 − 2/3 × 300 = 2,900.
#[test]
fn the_table_is_bilinear_and_ends_at_its_edges() {
    let rows = [
        vec![3_000.0, 3_200.0, 3_400.0],
        vec![2_700.0, 2_900.0, 3_100.0],
        vec![2_300.0, 2_500.0, 2_700.0],
    ];
    let unit = table("tabled", &rows);
    let at = |condenser_f: f64, cellar_f: f64| {
        let need = Need {
            cellar_c: celsius(cellar_f),
            ..need(1_000.0, 500.0, condenser_f)
        };
        assess(&unit, 1, &need).unwrap()
    };
    let capacity = |condenser_f, cellar_f| at(condenser_f, cellar_f).selection.unwrap().capacity_btu_h.get();
    near("between", capacity(90.0, 52.5), 2_900.0, 1e-6);
    for (i, condenser_f) in [80.0, 95.0, 110.0].into_iter().enumerate() {
        for (j, cellar_f) in [50.0, 55.0, 60.0].into_iter().enumerate() {
            near("node", capacity(condenser_f, cellar_f), rows[i][j], 1e-6);
        }
    }
    let told = at(114.0, 55.0).refusals[0].to_string();
    assert_eq!(
        told,
        "tabled has no capacity data for a condenser air temperature of 114 °F: it covers 80 to 110 °F, 4 °F above"
    );
    let told = at(90.0, 48.0).refusals[0].to_string();
    assert_eq!(
        told,
        "tabled has no capacity data for a cellar temperature of 48 °F: it covers 50 to 60 °F, 2 °F below"
    );
}

#[test]
fn a_rated_point_holds_only_where_it_is_safe() {
    let unit = rated("small", 3_000.0, 1_000.0);
    let at = |condenser_f, cellar_f| {
        let need = Need {
            cellar_c: celsius(cellar_f),
            ..need(500.0, 500.0, condenser_f)
        };
        assess(&unit, 1, &need)
            .unwrap()
            .selection
            .map(|s| s.capacity_btu_h.get())
    };
    near("cooler air earns nothing", at(70.0, 55.0).unwrap(), 3_000.0, 1e-9);
    near(
        "a warmer cellar earns nothing",
        at(90.0, 60.0).unwrap(),
        3_000.0,
        1e-9,
    );
    assert_eq!(at(116.0, 55.0), None);
    assert_eq!(at(90.0, 53.0), None);
}

#[test]
fn a_table_that_cannot_be_read_is_refused() {
    let rising = || vec![20.0, 30.0];
    let row = || vec![1_000.0, 900.0];
    let unusable =
        |result: Result<CapacityTable, InputFault>| matches!(result, Err(InputFault::Unusable { .. }));
    assert!(unusable(CapacityTable::new(vec![], rising(), &[])));
    assert!(unusable(CapacityTable::new(
        vec![30.0, 30.0],
        rising(),
        &[row(), row()]
    )));
    assert!(unusable(CapacityTable::new(rising(), rising(), &[row()])));
    assert!(unusable(CapacityTable::new(
        rising(),
        rising(),
        &[row(), vec![1_000.0]]
    )));
    let negative = CapacityTable::new(rising(), rising(), &[row(), vec![1_000.0, -1.0]]);
    assert!(matches!(
        negative,
        Err(InputFault::OutOfRange {
            field: "capacity of a class",
            ..
        })
    ));
    assert!(matches!(
        select(&[], &need(1.0, 1.0, 90.0)),
        Err(InputFault::Unusable { .. })
    ));
}

#[test]
fn a_need_outside_its_range_is_named() {
    let good = need(2_000.0, 500.0, 95.0);
    for (need, expected) in [
        (
            Need {
                required_btu_h: f64::NAN,
                ..good
            },
            "required capacity",
        ),
        (
            Need {
                volume_ft3: 0.0,
                ..good
            },
            "volume of the cellar",
        ),
        (
            Need {
                condenser_air_c: 200.0,
                ..good
            },
            "condenser air temperature",
        ),
        (
            Need {
                most_units: 0,
                ..good
            },
            "number of units",
        ),
    ] {
        match select(&classes(), &need) {
            Err(InputFault::OutOfRange { field, .. }) => assert_eq!(field, expected),
            other => panic!("{expected}: {other:?}"),
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn the_choice_covers_the_need_and_nothing_smaller_does(
        required in 100.0..40_000.0f64, volume in 100.0..9_000.0f64, condenser_f in 85.0..114.0f64, most in 1..4u32
    ) {
        let wish = Need { most_units: most, ..need(required, volume, condenser_f) };
        let choice = select(&classes(), &wish).unwrap();
        let mut reversed = classes();
        reversed.reverse();
        prop_assert_eq!(&select(&reversed, &wish).unwrap(), &choice, "the order of the list matters");
        match &choice.selection {
            Some(chosen) => {
                prop_assert!(chosen.capacity_btu_h.get() >= required);
                prop_assert!(chosen.volume_share.unwrap().get() <= 1.0);
                for other in classes() {
                    let alone = assess(&other, chosen.units, &wish).unwrap().selection;
                    let smaller = alone.is_some_and(|s| s.capacity_btu_h < chosen.capacity_btu_h);
                    prop_assert!(!smaller, "{} is smaller and does", other.class);
                }
            }
            None => prop_assert_eq!(choice.refusals.len(), 4 * most as usize),
        }
    }

    #[test]
    fn hotter_condenser_air_never_raises_the_capacity(f in 85.0..110.0f64, more in 0.0..5.0f64) {
        let capacity = |f| {
            assess(&rated("small", 3_000.0, 1_000.0), 1, &need(10.0, 100.0, f)).unwrap().selection.unwrap().capacity_btu_h
        };
        prop_assert!(capacity(f + more) <= capacity(f));
    }

    #[test]
    fn no_input_panics(a in any::<f64>(), b in any::<f64>(), c in any::<f64>(), d in any::<f64>(), n in any::<u32>()) {
        let wish = Need { required_btu_h: a, volume_ft3: b, condenser_air_c: c, cellar_c: d, most_units: n };
        let _ = select(&classes(), &wish);
        let _ = CapacityTable::new(vec![a, b], vec![c, d], &[vec![a, b], vec![c, d]]);
        let _ = assess(&rated("odd", a, b), n, &need(100.0, 100.0, 95.0));
    }
}
