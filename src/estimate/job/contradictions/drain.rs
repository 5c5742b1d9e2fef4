//! The drain: where water can run.

use serde::Deserialize;

use super::Answers;
use super::cellar::shown;
use crate::job::choices::Direction;
use crate::job::spec::DrainLeg;
use crate::quantity::Decimal;

/// How far measured and added-up heights may differ, in ft (common practice, no source).
const TOLERANCE: Decimal = Decimal::from_parts(25, 0, 0, false, 2);

pub(super) fn find(answers: &mut Answers<'_>) {
    falls(answers);
    levels(answers);
    discharge(answers);
}

fn legs(answers: &Answers<'_>) -> Vec<Option<DrainLeg>> {
    answers
        .list("/drain/legs")
        .iter()
        .map(|leg| DrainLeg::deserialize(leg).ok())
        .collect()
}

fn falls(answers: &mut Answers<'_>) {
    for (index, leg) in legs(answers).into_iter().enumerate() {
        let Some(DrainLeg {
            direction,
            length,
            fall: Some(fall),
            ..
        }) = leg
        else {
            continue;
        };
        let place = format!("/drain/legs/{index}/fall");
        let came = format!("{} in", shown(fall.0));
        if direction != Direction::Level {
            let message =
                "a fall is given for a leg that rises or drops: its length says how much".to_owned();
            answers.say(&place, came, "a fall on level legs only", message);
        } else if fall.0 > length.0 * Decimal::from(12) {
            let message = format!(
                "a leg of {} ft cannot fall {} in: that is a drop",
                shown(length.0),
                shown(fall.0)
            );
            answers.say(&place, came, "no more than the length of the leg", message);
        }
    }
}

/// Nothing on the route may lie below the discharge: water would stand there for ever.
fn levels(answers: &mut Answers<'_>) {
    let Some(legs) = legs(answers).into_iter().collect::<Option<Vec<_>>>() else {
        return;
    };
    let heights: Vec<Decimal> = legs
        .iter()
        .scan(Decimal::ZERO, |height, leg| {
            *height += leg.climb();
            Some(*height)
        })
        .collect();
    let Some((end, before)) = heights.split_last() else {
        return;
    };
    for (index, height) in before.iter().enumerate() {
        let under = end - height;
        if under > TOLERANCE {
            let message = format!(
                "the drain drops below its discharge: this leg ends {} ft under it, and water would stand there",
                shown(under)
            );
            answers.say(
                &format!("/drain/legs/{index}"),
                format!("{} ft below", shown(under)),
                "above the discharge",
                message,
            );
        }
    }
    let measured = answers.number("/drain/discharge_below_outlet");
    let discharge = measured.map_or(*end, |below| -below);
    if (discharge - end).abs() > TOLERANCE {
        let message = format!(
            "by its legs the drain ends {}, but the discharge was measured {}",
            beside_outlet(*end),
            beside_outlet(discharge)
        );
        answers.say(
            "/drain/discharge_below_outlet",
            beside_outlet(discharge),
            "as the legs add up, within 0.25 ft",
            message,
        );
    }
}

fn beside_outlet(height: Decimal) -> String {
    let side = if height.is_sign_negative() {
        "below"
    } else {
        "above"
    };
    format!("{} ft {side} the outlet of the pan", shown(height.abs()))
}

fn discharge(answers: &mut Answers<'_>) {
    let Some(discharge) = answers.word("/drain/discharge") else {
        return;
    };
    let last = answers
        .list("/drain/legs")
        .last()
        .and_then(|leg| leg.get("space")?.as_str());
    if discharge != "outdoors" && last == Some("outdoors") {
        let message = format!(
            "the last leg of the drain runs outdoors, but it discharges into a {}",
            discharge.replace('_', " ")
        );
        answers.say(
            "/drain/discharge",
            discharge,
            "outdoors, or a last leg indoors",
            message,
        );
    }
}
