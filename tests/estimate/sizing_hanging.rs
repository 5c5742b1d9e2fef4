//! Hanging a unit against the withdrawal table of the timber standard, statics and good sense.

use estimate::sizing::finding::{Level, stops};
use estimate::sizing::hanging::blocking::{BracketPattern, Joists};
use estimate::sizing::hanging::screw::{Screw, Wood, reference_lb_per_in};
use estimate::sizing::hanging::{Framing, HangingInput, HangingReport, hang};
use proptest::prelude::*;

use crate::reference_rows::{near, rows, within};

const SCREW: Screw = Screw {
    diameter_in: 0.25,
    thread_in: 1.5,
    wood: Wood::SprucePineFir,
    load_duration: 0.9,
    wet: false,
    wood_f: 90.0,
    end_grain: false,
};

/// Invented: 74 lb on four points, 32 × 18 in, under 2×8 joists 16 in on centres.
fn job() -> HangingInput {
    HangingInput {
        unit_lb: 74.0,
        bracket_lb: 10.0,
        water_lb: 4.0,
        trim_lb: 12.0,
        handling_factor: 2.0,
        off_centre_along: 0.0,
        off_centre_across: 0.0,
        pattern: BracketPattern {
            along: 2,
            across: 2,
            length_in: 32.0,
            width_in: 18.0,
            screws_per_point: 1,
        },
        screw: SCREW,
        framing: Framing::FloorJoists,
        joists: Joists {
            spacing_in: 16.0,
            width_in: 1.5,
            along_unit: false,
            first_from_joist_in: Some(0.0),
        },
        screws_per_block_end: 4,
        built_year: Some(2015),
        year_assumed: false,
    }
}

fn found(report: &HangingReport, code: &str) -> Option<Level> {
    report
        .findings
        .iter()
        .find(|finding| finding.code == code)
        .map(|finding| finding.level)
}

/// NDS 2018 equation 12.2-1 and Table 12.2A as reprinted; within 1 lb/in of the table.
#[test]
fn withdrawal_agrees_with_the_timber_standard() {
    for row in rows(include_str!("../reference/nds_lag.csv")) {
        let id = row.text("id");
        let wood = match row.text("species") {
            "southern pine" => Wood::SouthernPine,
            "douglas fir-larch" => Wood::DouglasFirLarch,
            "spruce-pine-fir" => Wood::SprucePineFir,
            "hem-fir" => Wood::HemFir,
            "spruce-pine-fir (south) / western cedars" => Wood::WesternCedar,
            other => panic!("unknown species {other}"),
        };
        near(id, wood.specific_gravity(), row.number("g"), 1e-12);
        let screw = Screw {
            diameter_in: row.number("d_in"),
            thread_in: row.number("thread_pen_in"),
            wood,
            load_duration: row.number("c_d"),
            ..SCREW
        };
        let withdrawal = screw.withdrawal().unwrap();
        near(
            id,
            withdrawal.reference_lb_per_in.get(),
            row.number("w_calc_lb_in"),
            1e-3,
        );
        near(
            id,
            withdrawal.reference_lb_per_in.get(),
            row.number("w_table_lb_in"),
            1.0,
        );
        near(id, withdrawal.holds_lb.get(), row.number("w_adj_one_lb"), 2e-3);
        near(
            id,
            4.0 * withdrawal.holds_lb.get(),
            row.number("w_adj_four_lb"),
            2e-3,
        );
    }
}

/// More cells of NDS 2018 Table 12.2A, read in a scanned reprint: 1/4, 5/16, 3/8, 7/16 and 1/2 in.
#[test]
fn more_cells_of_the_table() {
    for (gravity, cells) in [
        (0.50, [225.0, 266.0, 305.0, 342.0, 378.0]),
        (0.43, [179.0, 212.0, 243.0, 273.0, 302.0]),
        (0.67, [349.0, 413.0, 473.0, 531.0, 587.0]),
    ] {
        for (sixteenths, cell) in (4..=8).zip(cells) {
            let found = reference_lb_per_in(f64::from(sixteenths) / 16.0, gravity).unwrap();
            near("cell", found, cell, 1.0);
        }
    }
}

/// End grain 0.75 (read); hot 0.8 and 0.7, wet 0.7 (NDS, from memory).
#[test]
fn heat_water_and_end_grain_weaken_the_screw() {
    let holds = |screw: Screw| {
        screw.withdrawal().unwrap().holds_lb.get() / SCREW.withdrawal().unwrap().holds_lb.get()
    };
    near(
        "end grain",
        holds(Screw {
            end_grain: true,
            ..SCREW
        }),
        0.75,
        1e-9,
    );
    near(
        "attic at 120 °F",
        holds(Screw {
            wood_f: 120.0,
            ..SCREW
        }),
        0.8,
        1e-9,
    );
    near(
        "attic at 140 °F",
        holds(Screw {
            wood_f: 140.0,
            ..SCREW
        }),
        0.7,
        1e-9,
    );
    near("wet", holds(Screw { wet: true, ..SCREW }), 0.7, 1e-9);
    near(
        "wet and hot",
        holds(Screw {
            wet: true,
            wood_f: 120.0,
            ..SCREW
        }),
        0.49,
        1e-9,
    );
    assert!(
        Screw {
            wood_f: 151.0,
            ..SCREW
        }
        .withdrawal()
        .is_err()
    );
}

/// By hand: 74 + 10 + 4 + 12 = 100 lb, × 2 = 200 lb on four screws: 50 lb. One holds 173.22 × 0.9 × 1.5 =
/// 233.85 lb; the thread needed is 50 / 155.90 = 0.3207 in. A share of 0.2138 is used.
#[test]
fn four_screws_share_the_weight() {
    let report = hang(&job()).unwrap();
    near("in service", report.service_lb.get(), 100.0, 1e-9);
    near("design", report.design_lb.get(), 200.0, 1e-9);
    near("a screw", report.worst_screw_lb.get(), 50.0, 1e-9);
    within("holds", report.withdrawal.holds_lb.get(), 233.849, 1e-5);
    within("margin", report.margin_lb.get(), 183.849, 1e-5);
    within("thread", report.thread_needed_in.get(), 0.320_7, 1e-3);
    within("used", report.used.get(), 0.213_8, 1e-3);
    // In service a screw carries 25 lb: 233.85 / 25 = 9.354.
    within("safety", report.safety_factor.get(), 9.354, 1e-3);
    assert_eq!(report.bracket_screws, 4);
    assert_eq!(report.persons_to_lift, 2);
    assert_eq!(found(&report, "hanging.two_persons"), Some(Level::Caution));
    assert_eq!(report.findings.len(), 1);
}

/// Statics of a rigid body on equal supports: with the weight over one of two points that point carries
/// all of it; on three points in a row, at the end point 1/3 + 1/2 = 5/6 of it.
#[test]
fn a_weight_off_the_middle_loads_the_near_points() {
    let mut input = job();
    input.off_centre_along = 1.0;
    near(
        "two points",
        hang(&input).unwrap().worst_point_lb.get(),
        100.0,
        1e-9,
    );
    input.pattern.along = 3;
    input.pattern.across = 1;
    input.pattern.width_in = 0.0;
    near(
        "three points",
        hang(&input).unwrap().worst_point_lb.get(),
        200.0 * 5.0 / 6.0,
        1e-9,
    );
    input.off_centre_across = 0.5;
    assert!(
        hang(&input)
            .unwrap_err()
            .to_string()
            .starts_with("bracket: one line of points")
    );
}

#[test]
fn screws_that_would_pull_out_stop_the_job() {
    let mut input = job();
    input.screw.thread_in = 0.25;
    let report = hang(&input).unwrap();
    assert_eq!(found(&report, "hanging.screws_pull_out"), Some(Level::Stop));
    assert!(
        report.findings[0]
            .message
            .contains("11 lb over the 39 lb it may hold; 0.32 in of thread would do")
    );
    assert!(report.margin_lb.get() < 0.0);
    input.screw.thread_in = 0.36;
    assert_eq!(
        found(&hang(&input).unwrap(), "hanging.screws_near_limit"),
        Some(Level::Caution)
    );
}

/// Joists across the unit, 16 in on centres, hangers 32 in apart: all on joists when the first is. 20 in
/// apart one row of two misses and takes a block in its bay at both rows. Common practice: two joists.
#[test]
fn blocking_goes_where_hangers_meet_no_joist() {
    let blocks = |first_in: Option<f64>, length_in: f64, along_unit: bool| {
        let mut input = job();
        input.joists.first_from_joist_in = first_in;
        input.joists.along_unit = along_unit;
        input.pattern.length_in = length_in;
        let report = hang(&input).unwrap();
        let blocking = report.blocking.unwrap();
        assert!(blocking.joists_carrying >= 2);
        near("a block", blocking.piece_in.get(), 14.5, 1e-12);
        near(
            "all",
            blocking.total_ft.get(),
            f64::from(blocking.pieces) * 14.5 / 12.0,
            1e-9,
        );
        assert_eq!(blocking.needed, blocking.pieces > 0);
        assert_eq!(report.blocking_screws, 8 * blocking.pieces);
        (blocking.pieces, blocking.joists_carrying)
    };
    assert_eq!(blocks(Some(0.0), 32.0, false), (0, 2), "both on joists");
    assert_eq!(
        blocks(Some(0.3), 32.0, false),
        (0, 2),
        "0.3 in off: 1.5 diameters of wood are left"
    );
    assert_eq!(
        blocks(Some(0.5), 32.0, false),
        (4, 4),
        "0.5 in off: too near the edge"
    );
    assert_eq!(
        blocks(Some(0.0), 20.0, false),
        (2, 3),
        "the second hangs in the next bay"
    );
    assert_eq!(
        blocks(Some(4.0), 8.0, false),
        (2, 2),
        "both in one bay share a block at each row"
    );
    assert_eq!(blocks(None, 32.0, false), (4, 2), "not set out");
    assert_eq!(
        blocks(Some(7.0), 32.0, true),
        (4, 3),
        "18 in apart along the joists: bays 0 and 1"
    );
}

/// All hangers on one joist: a block at each row brings in the next joist.
#[test]
fn one_joist_does_not_carry_the_unit_alone() {
    let mut input = job();
    input.pattern = BracketPattern {
        along: 2,
        across: 1,
        length_in: 32.0,
        width_in: 0.0,
        screws_per_point: 2,
    };
    input.joists.along_unit = true;
    let blocking = hang(&input).unwrap().blocking.unwrap();
    assert_eq!((blocking.pieces, blocking.joists_carrying), (2, 2));
}

#[test]
fn framing_that_may_not_bear_it_goes_to_an_engineer() {
    for (framing, unit_lb, expected) in [
        (Framing::FloorJoists, 200.0, None),
        (Framing::CeilingJoists, 49.0, None),
        (Framing::CeilingJoists, 50.0, Some(Level::Caution)),
        (Framing::Trusses, 20.0, Some(Level::Caution)),
        (Framing::IJoists, 20.0, Some(Level::Caution)),
        (Framing::Concrete, 20.0, Some(Level::Caution)),
        (Framing::Unknown, 20.0, Some(Level::Caution)),
    ] {
        let mut input = job();
        input.framing = framing;
        input.unit_lb = unit_lb;
        let report = hang(&input).unwrap();
        assert_eq!(
            found(&report, "hanging.framing"),
            expected,
            "{framing:?} {unit_lb} lb"
        );
        assert_eq!(report.blocking.is_none(), framing == Framing::Concrete);
        assert!(!stops(&report.findings));
    }
}

#[test]
fn an_old_or_unknown_ceiling_is_sampled_first() {
    for (year, told) in [(Some(1979), true), (None, true), (Some(1980), false)] {
        let mut input = job();
        input.built_year = year;
        assert_eq!(
            found(&hang(&input).unwrap(), "hanging.old_ceiling").is_some(),
            told,
            "{year:?}"
        );
    }
}

#[test]
fn a_year_that_was_assumed_is_said_to_be() {
    for (year_assumed, says) in [(false, "The house is of 1965"), (true, "1965 is assumed")] {
        let mut input = job();
        input.built_year = Some(1965);
        input.year_assumed = year_assumed;
        let report = hang(&input).unwrap();
        let mut findings = report.findings.iter();
        let told = findings
            .find(|finding| finding.code == "hanging.old_ceiling")
            .unwrap();
        assert!(told.message.contains(says), "{}", told.message);
    }
}

#[test]
fn what_the_method_cannot_take_is_refused_by_name() {
    let refused = |change: &dyn Fn(&mut HangingInput)| {
        let mut input = job();
        change(&mut input);
        hang(&input).unwrap_err().to_string()
    };
    assert!(refused(&|i| i.unit_lb = f64::NAN).starts_with("weight of the unit is NaN lb"));
    assert!(
        refused(&|i| i.screw.wood = Wood::OfGravity(0.9)).starts_with("specific gravity of the wood is 0.9")
    );
    assert!(refused(&|i| i.screw.diameter_in = 0.1).starts_with("diameter of a lag screw is 0.1 in"));
    assert!(refused(&|i| i.pattern.along = 1).starts_with("bracket: one point takes no length"));
    assert!(refused(&|i| i.joists.spacing_in = 0.0).starts_with("joist spacing is 0 in"));
}

proptest! {
    /// More weight never leaves more margin; more screws, thread or wood never less.
    #[test]
    fn margins_move_the_right_way(
        more_lb in 0.0..200.0_f64, thread_in in 0.5..3.0_f64, screws in 1..4_u32, gravity in 0.36..0.55_f64,
    ) {
        let mut weak = job();
        weak.screw.thread_in = thread_in;
        weak.screw.wood = Wood::OfGravity(gravity);
        let margin = |input: &HangingInput| hang(input).unwrap().margin_lb;
        let base = margin(&weak);
        let mut heavier = weak;
        heavier.unit_lb += more_lb;
        prop_assert!(margin(&heavier) <= base);
        let mut stronger = weak;
        stronger.pattern.screws_per_point = screws;
        stronger.screw.thread_in += 0.5;
        stronger.screw.wood = Wood::OfGravity(gravity + 0.05);
        prop_assert!(margin(&stronger) >= base);
    }

    /// The points' loads never add up to less than the weight.
    #[test]
    fn the_worst_point_carries_its_share_at_least(along in 2..6_u32, across in 2..6_u32, off in 0.0..1.0_f64) {
        let mut input = job();
        (input.pattern.along, input.pattern.across, input.off_centre_along) = (along, across, off);
        let report = hang(&input).unwrap();
        prop_assert!(report.worst_point_lb.get() * f64::from(along * across) >= report.design_lb.get() - 1e-9);
    }

    /// However the unit lies against the joists, two of them carry it at least.
    #[test]
    fn two_joists_carry_it_at_least(
        first_in in 0.0..16.0_f64, length_in in 1.0..60.0_f64, along in 2..5_u32, along_unit in any::<bool>(),
    ) {
        let mut input = job();
        input.joists.first_from_joist_in = Some(first_in);
        input.joists.along_unit = along_unit;
        (input.pattern.along, input.pattern.length_in) = (along, length_in);
        let blocking = hang(&input).unwrap().blocking.unwrap();
        prop_assert!(blocking.joists_carrying >= 2);
        prop_assert!(blocking.pieces <= input.pattern.points());
    }
}
