//! Control cables and probe leads against facts of the trade.

use estimate::sizing::controls::{LeadInput, NearMains, Slack, lead};
use estimate::sizing::finding::Level;
use proptest::prelude::*;

use crate::reference_rows::near;

fn cable(route_ft: f64, slack: Slack, included_ft: f64) -> LeadInput {
    LeadInput {
        what: "controller cable",
        route_ft,
        slack,
        included_ft,
        longest_ft: None,
        near_mains: NearMains::None,
    }
}

/// Common practice, no source: with 50 ft included a 62 ft route needs 12 ft or more, a 48 ft route none.
#[test]
fn fifty_feet_included_cover_48_and_fall_12_short_of_62() {
    for (route_ft, extension_ft, margin_ft) in [(62.0, 12.0, -12.0), (48.0, 0.0, 2.0), (50.0, 0.0, 0.0)] {
        let report = lead(&cable(route_ft, Slack::AsMeasured, 50.0)).unwrap();
        near("extension", report.extension_ft.get(), extension_ft, 1e-12);
        near("margin", report.margin_ft.get(), margin_ft, 1e-12);
        assert!(report.findings.is_empty());
    }
}

/// Common practice, no source: route + 10 % + 2 ft at each end; 17, 39 and 55 ft need 22.7, 46.9 and 64.5.
#[test]
fn usual_slack_is_a_tenth_and_two_feet_at_each_end() {
    for (route_ft, needed_ft, extension_ft) in [(17.0, 22.7, 0.0), (39.0, 46.9, 21.9), (55.0, 64.5, 39.5)] {
        let report = lead(&cable(route_ft, Slack::USUAL, 25.0)).unwrap();
        near("needed", report.needed_ft.get(), needed_ft, 1e-9);
        near("extension", report.extension_ft.get(), extension_ft, 1e-9);
    }
    let report = lead(&cable(0.0, Slack::USUAL, 25.0)).unwrap();
    near("no route", report.needed_ft.get(), 0.0, 1e-12);
}

#[test]
fn the_makers_longest_warns_and_stops() {
    for (route_ft, expected) in [
        (79.0, None),
        (80.0, Some(Level::Caution)),
        (100.0, Some(Level::Caution)),
        (101.0, Some(Level::Stop)),
    ] {
        let mut input = cable(route_ft, Slack::AsMeasured, 25.0);
        input.longest_ft = Some(100.0);
        let report = lead(&input).unwrap();
        assert_eq!(
            report.findings.first().map(|finding| finding.level),
            expected,
            "{route_ft} ft"
        );
        near(
            "margin",
            report.longest_margin_ft.unwrap().get(),
            100.0 - route_ft,
            1e-9,
        );
    }
}

/// NEC 725.136 (read second-hand) and 2 in from open power wiring (from memory).
#[test]
fn control_cable_keeps_away_from_power() {
    for (near_mains, expected) in [
        (NearMains::None, None),
        (
            NearMains::SharedRaceway,
            Some(("controls.shares_raceway", Level::Stop)),
        ),
        (
            NearMains::Beside { distance_in: 1.5 },
            Some(("controls.too_near_power", Level::Caution)),
        ),
        (NearMains::Beside { distance_in: 2.0 }, None),
        (
            NearMains::Unknown,
            Some(("controls.separation_unknown", Level::Caution)),
        ),
    ] {
        let mut input = cable(30.0, Slack::AsMeasured, 50.0);
        input.near_mains = near_mains;
        let report = lead(&input).unwrap();
        assert_eq!(
            report
                .findings
                .first()
                .map(|finding| (finding.code, finding.level)),
            expected
        );
    }
}

#[test]
fn what_the_method_cannot_take_is_refused_by_name() {
    let fault = lead(&cable(-1.0, Slack::AsMeasured, 50.0)).unwrap_err();
    assert_eq!(
        fault.to_string(),
        "controller cable: route is -1 ft; the method holds from 0 to 2000 ft"
    );
    assert!(lead(&cable(f64::NAN, Slack::AsMeasured, 50.0)).is_err());
    assert!(
        lead(&cable(
            10.0,
            Slack::Added {
                share: 3.0,
                each_end_ft: 2.0
            },
            50.0
        ))
        .is_err()
    );
}

proptest! {
    /// Included and extension together always reach, and nothing is added that is not needed.
    #[test]
    fn included_and_extension_cover_what_is_needed(route_ft in 0.0..500.0_f64, included_ft in 0.0..200.0_f64) {
        let report = lead(&cable(route_ft, Slack::USUAL, included_ft)).unwrap();
        let (needed, extension) = (report.needed_ft.get(), report.extension_ft.get());
        prop_assert!(included_ft + extension >= needed - 1e-9);
        prop_assert!(extension == 0.0 || (included_ft + extension - needed).abs() < 1e-9);
    }
}
