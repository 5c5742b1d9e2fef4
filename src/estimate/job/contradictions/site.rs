//! The site: heights that no building has, and ways that nobody drives.

use super::cellar::shown;
use super::{Answers, number};
use crate::quantity::Decimal;

/// Height of a storey with its floor, at most, ft; common practice, no source.
const STOREY_FT: i64 = 20;
/// Fastest that a van gets anywhere, miles an hour; common practice, no source.
const FASTEST_MPH: i64 = 80;
/// Slowest that a van gets anywhere, miles an hour, and what a ferry or a gate may cost beside that, hours; common
/// practice, no source.
const SLOWEST_MPH: i64 = 5;
const HELD_UP_H: Decimal = Decimal::ONE;
/// A way so short that nobody writes a time down for it, mi; common practice, no source.
const NEXT_DOOR_MI: i64 = 5;

pub(super) fn find(answers: &mut Answers<'_>) {
    heights(answers, "/line_set/legs", "line set");
    heights(answers, "/drain/legs", "drain");
    travel(answers);
    cable(answers);
}

/// A route goes no further up and down than from below the lowest storey to the roof.
fn heights(answers: &mut Answers<'_>, place: &str, what: &str) {
    let Some(storeys) = answers.number("/site/storeys") else {
        return;
    };
    let legs = answers.list(place).iter().map(|leg| {
        let length = number(leg.get("length")?)?;
        Some(match leg.get("direction")?.as_str()? {
            "rise" => length,
            "drop" => -length,
            _ => Decimal::ZERO,
        })
    });
    let Some(climbs) = legs.collect::<Option<Vec<Decimal>>>() else {
        return;
    };
    let (mut height, mut lowest, mut highest) = (Decimal::ZERO, Decimal::ZERO, Decimal::ZERO);
    for climb in climbs {
        height += climb;
        lowest = lowest.min(height);
        highest = highest.max(height);
    }
    let most = (storeys + Decimal::ONE) * Decimal::from(STOREY_FT);
    let between = highest - lowest;
    if between > most {
        let told = if storeys == Decimal::ONE {
            "storey"
        } else {
            "storeys"
        };
        let message = format!(
            "the {what} has {} ft between its lowest and its highest point, and the building has {storeys} {told}",
            shown(between)
        );
        let allowed = format!("{most} ft in such a building");
        answers.say(place, format!("{} ft", shown(between)), &allowed, message);
    }
}

fn travel(answers: &mut Answers<'_>) {
    let [time, distance] = ["travel_time", "distance"].map(|of| answers.number(&format!("/site/{of}")));
    let (Some(hours), Some(miles)) = (time, distance) else {
        return;
    };
    dawdling(answers, hours, miles);
    if miles > hours * Decimal::from(FASTEST_MPH) && miles > Decimal::from(NEXT_DOOR_MI) {
        let message = match hours.is_zero() {
            true => format!(
                "the site is {} mi away, and no travel time is given for it",
                shown(miles)
            ),
            false => format!(
                "{} mi in {} h: nobody drives that fast",
                shown(miles),
                shown(hours)
            ),
        };
        let allowed = format!("at most {FASTEST_MPH} mi for each hour of travel");
        answers.say(
            "/site/distance",
            format!("{} mi", shown(miles)),
            &allowed,
            message,
        );
    }
}

/// Hours on the way to a place that is round the corner: minutes were meant, or another distance.
fn dawdling(answers: &mut Answers<'_>, hours: Decimal, miles: Decimal) {
    // Dividing by a whole number that is not nothing cannot fail.
    let slowest = miles / Decimal::from(SLOWEST_MPH) + HELD_UP_H;
    if hours > slowest {
        let message = format!(
            "{} h on the way to a site that is {} mi away: nobody drives that slowly",
            shown(hours),
            shown(miles)
        );
        let allowed = format!("at most an hour, and one more for every {SLOWEST_MPH} mi");
        answers.say(
            "/site/travel_time",
            format!("{} h", shown(hours)),
            &allowed,
            message,
        );
    }
}

/// A controller outside the cellar is reached by a cable of some length.
fn cable(answers: &mut Answers<'_>) {
    let outside = answers.word("/controller/location") == Some("outside");
    if outside && answers.number("/controller/cable_route") == Some(Decimal::ZERO) {
        let message = "the controller hangs outside the cellar, but its cable has no length".to_owned();
        answers.say(
            "/controller/cable_route",
            "0 ft",
            "the length of the way to it",
            message,
        );
    }
}
