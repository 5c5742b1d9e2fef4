//! The unit, the condensing unit, the finishes and the tax.

use serde_json::Value;

use super::cellar::{ceiling_area, shown};
use super::{Answers, number};
use crate::quantity::Decimal;

pub(super) fn unit(answers: &mut Answers<'_>) {
    let mounting = answers.word("/unit/mounting");
    let recessed = matches!(mounting, Some("partly_recessed" | "flush"));
    let ceiling = answers.word("/site/ceiling_construction");
    let framing = answers.word("/unit/framing");
    if recessed && ceiling == Some("concrete") {
        let message = "a unit cannot be recessed into a concrete ceiling".to_owned();
        answers.say(
            "/unit/mounting",
            mounting.unwrap_or_default(),
            "exposed, below concrete",
            message,
        );
    }
    if recessed && answers.number("/unit/ceiling_void") == Some(Decimal::ZERO) {
        let message = format!(
            "a unit that hangs {} needs room above the ceiling, and there is none",
            mounting.unwrap_or_default().replace('_', " ")
        );
        let allowed = "the clear depth above the ceiling; exposed, where there is none";
        answers.say("/unit/ceiling_void", "0 in", allowed, message);
    }
    if answers.word("/unit/service_access") == Some("above")
        && (ceiling == Some("concrete") || framing == Some("concrete"))
    {
        let message = "there is no service access from above through concrete".to_owned();
        answers.say("/unit/service_access", "above", "below, under concrete", message);
    }
    if let (Some("concrete"), Some(wood @ ("joist" | "truss" | "i_joist"))) = (ceiling, framing) {
        let message = format!(
            "the ceiling is concrete: there are no {} above it that a unit could hang from",
            match wood {
                "truss" => "trusses",
                _ => "joists",
            }
        );
        answers.say(
            "/unit/framing",
            wood,
            "concrete, under a concrete ceiling",
            message,
        );
    }
    if framing == Some("concrete") {
        for (answer, what) in [
            ("framing_species", "a wood"),
            ("joist_spacing", "a spacing of joists"),
        ] {
            let place = format!("/unit/{answer}");
            if answers.known(&place) {
                let message = format!("{what} is given, but the unit hangs from concrete");
                answers.say(&place, answer, "nothing, with concrete", message);
            }
        }
    }
}

pub(super) fn condenser(answers: &mut Answers<'_>) {
    let location = answers.word("/condenser/location");
    let support = answers.word("/condenser/support");
    let indoors = matches!(location, Some("attic" | "basement" | "plant_room"));
    if let (true, Some(support @ ("ground" | "roof"))) = (indoors, support) {
        let place = location.unwrap_or_default().replace('_', " ");
        let message = format!("a condensing unit in the {place} does not stand on the {support}");
        answers.say("/condenser/support", support, "floor or wall, indoors", message);
    }
    let temperatures =
        ["winter_temperature", "design_temperature"].map(|of| answers.number(&format!("/condenser/{of}")));
    if let [Some(winter), Some(design)] = temperatures
        && winter > design
    {
        let message = format!(
            "the coldest air is {} degF and the warmest only {} degF",
            shown(winter),
            shown(design)
        );
        let came = format!("{} degF", shown(winter));
        answers.say(
            "/condenser/winter_temperature",
            came,
            "no more than the design temperature",
            message,
        );
    }
    if location == Some("outdoors") {
        coldest(answers);
    }
    way_to_condenser(answers, indoors, location == Some("outdoors"));
}

/// A condensing unit that stands outdoors meets the air of outdoors.
fn coldest(answers: &mut Answers<'_>) {
    let of = ["site", "condenser"].map(|of| answers.number(&format!("/{of}/winter_temperature")));
    let [Some(outdoors), Some(condenser)] = of else {
        return;
    };
    if outdoors != condenser {
        let message = format!(
            "the coldest air outdoors is {} degF, and {} degF at the condensing unit, which stands there",
            shown(outdoors),
            shown(condenser)
        );
        let came = format!("{} degF", shown(outdoors));
        let allowed = "the same as at a condensing unit outdoors, or nothing";
        answers.say("/site/winter_temperature", came, allowed, message);
    }
}

fn way_to_condenser(answers: &mut Answers<'_>, indoors: bool, outdoors: bool) {
    let spaces: Option<Vec<&str>> = answers
        .list("/line_set/legs")
        .iter()
        .map(|leg| leg.get("space")?.as_str())
        .collect();
    let Some(spaces) = spaces.filter(|spaces| !spaces.is_empty()) else {
        return;
    };
    if indoors && spaces.last() == Some(&"outdoors") {
        let message =
            "the last leg of the line set runs outdoors, but the condensing unit stands indoors".to_owned();
        answers.say(
            "/line_set/legs",
            "a last leg outdoors",
            "a last leg indoors",
            message,
        );
    }
    let penetrations = answers.at("/line_set/penetrations").and_then(Value::as_array);
    if outdoors && !spaces.contains(&"outdoors") && penetrations.is_some_and(Vec::is_empty) {
        let message = "the condensing unit stands outdoors, but no leg of the line set runs outdoors and nothing is penetrated";
        answers.say(
            "/line_set/legs",
            "all legs indoors",
            "a leg outdoors or a penetration",
            message.to_owned(),
        );
    }
}

pub(super) fn finishes(answers: &mut Answers<'_>) {
    if answers.word("/finishes/trim") == Some("none")
        && answers.word("/finishes/trim_colour") == Some("custom")
    {
        let message = "a colour is made to order, but there is no trim".to_owned();
        answers.say(
            "/finishes/trim_colour",
            "custom",
            "standard, without trim",
            message,
        );
    }
    let flush = answers.word("/unit/mounting") == Some("flush");
    if flush && answers.word("/finishes/trim") == Some("cover") {
        let message =
            "a flush unit has its housing above the ceiling: a cover would never be seen".to_owned();
        answers.say(
            "/finishes/trim",
            "cover",
            "none or frame, with a flush unit",
            message,
        );
    }
    let open = answers.at("/site/ceiling_open") == Some(&Value::Bool(true));
    if open && answers.word("/site/ceiling_construction") == Some("concrete") {
        let message = "the ceiling is concrete: no drywall will close it, so it is not open".to_owned();
        answers.say("/site/ceiling_open", "true", "false, under concrete", message);
    }
    if open && answers.known("/finishes/ceiling_patch") {
        let message = "the ceiling is still open: there is nothing to patch".to_owned();
        answers.say(
            "/finishes/ceiling_patch",
            "a patch",
            "no patch before drywall",
            message,
        );
    }
    let mut painted: Vec<&str> = Vec::new();
    for (index, painting) in answers.list("/finishes/painting").iter().enumerate() {
        let Some(part) = painting.get("part").and_then(Value::as_str) else {
            continue;
        };
        let place = format!("/finishes/painting/{index}");
        if painted.contains(&part) {
            let message = format!("painting of the {part} is listed twice: add the coats up");
            answers.say(&place, part, "each part once", message);
        }
        painted.push(part);
        if part != "ceiling"
            && let Some(area) = painting.get("area").filter(|area| !area.is_null())
        {
            let came = number(area).map_or_else(String::new, |area| format!("{} ft2", shown(area)));
            let message = format!("an area is given for the {part}: only a ceiling is painted by area");
            answers.say(
                &format!("{place}/area"),
                came,
                "nothing, but for the ceiling",
                message,
            );
        }
    }
}

/// What is patched or painted of the ceiling may be somewhat more than the cellar's own, for edges and what the route
/// opened beside it: a quarter (common practice, no source).
pub(super) fn ceiling(answers: &mut Answers<'_>) {
    let Some(ceiling) = ceiling_area(answers) else {
        return;
    };
    let most = ceiling * Decimal::new(125, 2);
    let mut works = vec![("/finishes/ceiling_patch/area".to_owned(), "patched")];
    let painted = answers.list("/finishes/painting").iter().enumerate();
    works.extend(
        painted
            .filter(|(_, painting)| painting.get("part").is_some_and(|part| part == "ceiling"))
            .map(|(index, _)| (format!("/finishes/painting/{index}/area"), "painted")),
    );
    for (place, done) in works {
        let Some(area) = answers.number_at(&place).filter(|area| *area > most) else {
            continue;
        };
        let message = format!(
            "{} ft2 of ceiling are to be {done}, and the cellar's ceiling has {} ft2",
            shown(area),
            shown(ceiling)
        );
        let allowed = "no more than the ceiling and a quarter";
        answers.say(&place, format!("{} ft2", shown(area)), allowed, message);
    }
}

pub(super) fn tax(answers: &mut Answers<'_>) {
    if let Some(treatment @ ("tax_on_sale" | "contractor_pays")) = answers.word("/tax/treatment")
        && answers.known("/tax/exemption_certificate")
    {
        let message = format!("there is an exemption certificate, but the treatment is {treatment}");
        answers.say("/tax/treatment", treatment, "exempt, with a certificate", message);
    }
}
