//! The cellar: its size, and an envelope that closes.

use crate::job::fault::NEITHER;
use serde_json::Value;

use super::{Answers, number};
use crate::quantity::Decimal;
use crate::quantity::decimal::plain;
use crate::quantity::rounding::{Mode, to_scale};

/// Height of a low room, ft; common practice, no source.
const STOREY: Decimal = Decimal::from_parts(8, 0, 0, false, 0);
const SIDES: [&str; 3] = ["length", "width", "height"];

pub(super) fn find(answers: &mut Answers<'_>) {
    size(answers);
    envelope(answers);
    transmissions(answers);
    openings(answers);
    closing(answers);
    height(answers);
    bottles(answers);
    intake(answers);
}

/// Area of the cellar's ceiling, ft2, by its sides or by the ceilings that are listed.
pub(super) fn ceiling_area(answers: &Answers<'_>) -> Option<Decimal> {
    if let Some([length, width, _]) = sides(answers) {
        return Some(length * width);
    }
    let surfaces = answers.list("/cellar/surfaces").iter();
    let ceilings = surfaces.filter(|surface| surface.get("kind").is_some_and(|kind| kind == "ceiling"));
    let areas: Option<Vec<Decimal>> = ceilings.map(|surface| number(surface.get("area")?)).collect();
    areas
        .filter(|areas| !areas.is_empty())
        .map(|areas| areas.iter().sum())
}

fn sides(answers: &Answers<'_>) -> Option<[Decimal; 3]> {
    let [length, width, height] = SIDES.map(|side| answers.number(&format!("/cellar/{side}")));
    Some([length?, width?, height?])
}

fn size(answers: &mut Answers<'_>) {
    const ALLOWED: &str = "length, width and height; or volume, when surfaces are listed";
    let cellar = answers.at("/cellar");
    let given = SIDES.map(|side| cellar.is_some_and(|cellar| cellar.get(side).is_some()));
    let volume = answers.given("/cellar/volume");
    match (given.iter().filter(|side| **side).count(), volume) {
        (3, false) | (0, true) => {}
        (0, false) => {
            let message = "the cellar has no size: give length, width and height, or the volume when surfaces are listed";
            answers.say("/cellar", NEITHER, ALLOWED, message.to_owned());
        }
        (3, true) => {
            let message = "the volume follows from length, width and height: leave it out".to_owned();
            answers.say("/cellar/volume", "both", ALLOWED, message);
        }
        (_, true) => {
            let message =
                "the cellar has a volume and some of its sides: give all three sides, or the volume alone";
            answers.say("/cellar/volume", "both", ALLOWED, message.to_owned());
        }
        (_, false) => {
            for (side, _) in SIDES.iter().zip(given).filter(|(_, given)| !given) {
                let message = format!("the {side} is needed beside the other sides");
                answers.say(&format!("/cellar/{side}"), "nothing", ALLOWED, message);
            }
        }
    }
    if volume && answers.given("/cellar/construction") {
        let message =
            "a construction needs length, width and height: with a volume, list the surfaces".to_owned();
        answers.say(
            "/cellar/construction",
            "a construction and a volume",
            ALLOWED,
            message,
        );
    }
}

fn envelope(answers: &mut Answers<'_>) {
    const ALLOWED: &str = "construction or surfaces, one of the two";
    let both = (
        answers.given("/cellar/construction"),
        answers.given("/cellar/surfaces"),
    );
    let (came, message) = match both {
        (true, true) => (
            "both",
            "the envelope is given twice: leave construction or surfaces out",
        ),
        (false, false) => (
            NEITHER,
            "the envelope is not given: give construction, or list the surfaces",
        ),
        _ => return,
    };
    answers.say("/cellar", came, ALLOWED, message.to_owned());
}

/// Exactly one of R-value and U-value.
fn transmissions(answers: &mut Answers<'_>) {
    for (index, surface) in answers.list("/cellar/surfaces").iter().enumerate() {
        transmission(answers, || format!("/cellar/surfaces/{index}"), surface);
    }
    if let Some(door) = answers.at("/cellar/construction/door") {
        transmission(answers, || "/cellar/construction/door".to_owned(), door);
    }
}

fn transmission(answers: &mut Answers<'_>, place: impl FnOnce() -> String, surface: &Value) {
    let (came, message) = match (surface.get("r_value"), surface.get("u_value")) {
        (Some(_), Some(_)) => (
            "both",
            "R-value and U-value are both given: leave one of the two out",
        ),
        (None, None) if surface.is_object() => (
            NEITHER,
            "neither R-value nor U-value is given: one of the two is needed",
        ),
        _ => return,
    };
    let allowed = "r_value or u_value, one of the two";
    answers.say(&place(), came, allowed, message.to_owned());
}

/// Doors and glazing are part of the walls.
fn openings(answers: &mut Answers<'_>) {
    let Some([length, width, height]) = sides(answers) else {
        return;
    };
    let area = |of: &str| answers.number(&format!("/cellar/construction/{of}/area"));
    let Some(door) = area("door") else {
        return;
    };
    let openings = door + area("glazing").unwrap_or_default();
    let walls = Decimal::TWO * (length + width) * height;
    if openings > walls {
        let message = format!(
            "doors and glazing are {} ft2 and the walls around the cellar only {} ft2",
            shown(openings),
            shown(walls)
        );
        answers.say(
            "/cellar/construction",
            shown(openings),
            "no more than the area of the walls",
            message,
        );
    }
}

/// The surfaces listed must be those of the room: all round within a tenth (common practice, no source).
fn closing(answers: &mut Answers<'_>) {
    let Some([length, width, height]) = sides(answers) else {
        return;
    };
    let surfaces = answers.list("/cellar/surfaces");
    let parts: Option<Vec<(&str, Decimal)>> = surfaces
        .iter()
        .map(|surface| Some((surface.get("kind")?.as_str()?, number(surface.get("area")?)?)))
        .collect();
    let Some(parts) = parts.filter(|parts| !parts.is_empty()) else {
        return;
    };
    let sum = |kinds: &[&str]| -> Decimal {
        parts
            .iter()
            .filter(|(kind, _)| kinds.contains(kind))
            .map(|(_, area)| area)
            .sum()
    };
    let floor = length * width;
    let walls = Decimal::TWO * (length + width) * height;
    // Glazing may be in the ceiling, and a ceiling may slope: the two are judged together.
    let checks = [
        ("the floor adds", sum(&["floor"]), floor),
        (
            "walls, doors, glazing and ceiling add",
            sum(&["wall", "door", "glazing", "ceiling"]),
            walls + floor,
        ),
    ];
    for (what, listed, wanted) in checks {
        let tenth = wanted * Decimal::new(1, 1);
        if (listed - wanted).abs() > tenth {
            let message = format!(
                "the surfaces do not close: {what} up to {} ft2, and by length, width and height to {} ft2",
                shown(listed),
                shown(wanted)
            );
            answers.say(
                "/cellar/surfaces",
                format!("{} ft2", shown(listed)),
                "the room's own area within a tenth",
                message,
            );
        }
    }
}

/// The unit hangs from the cellar's own ceiling, which a vault or a slope may take to twice the height that the room is
/// reckoned with, and a cabinet for wine stands under a room's (common practice, no source): what is over that is metres
/// for feet, or another room's ceiling.
fn height(answers: &mut Answers<'_>) {
    let (Some(cellar), Some(ceiling)) = (
        answers.number("/cellar/height"),
        answers.number("/site/ceiling_height"),
    ) else {
        return;
    };
    if cellar > ceiling {
        let message = format!(
            "the cellar is {} ft high inside and the ceiling that we work at only {} ft",
            shown(cellar),
            shown(ceiling)
        );
        answers.say(
            "/cellar/height",
            format!("{} ft", shown(cellar)),
            "no more than /site/ceiling_height",
            message,
        );
    } else if ceiling > cellar * Decimal::TWO && ceiling - cellar > STOREY {
        let message = format!(
            "the ceiling that we work at is {} ft high and the cellar inside only {} ft: the unit hangs from the cellar's \
             ceiling",
            shown(ceiling),
            shown(cellar)
        );
        answers.say(
            "/site/ceiling_height",
            format!("{} ft", shown(ceiling)),
            "no more than twice /cellar/height",
            message,
        );
    }
}

/// The wine alone, 0.75 L a bottle, must find room: 0.75 / 28.316846592 L a ft3 = 0.026486 ft3.
fn bottles(answers: &mut Answers<'_>) {
    let volume = match sides(answers) {
        Some([length, width, height]) => length * width * height,
        None => match answers.number("/cellar/volume") {
            Some(volume) => volume,
            None => return,
        },
    };
    let Some(bottles) = answers.number("/cellar/bottles") else {
        return;
    };
    let wine = bottles * Decimal::new(26_486, 6);
    if wine > volume {
        let message = format!(
            "{bottles} bottles hold {} ft3 of wine and the cellar has only {} ft3",
            shown(wine),
            shown(volume)
        );
        answers.say(
            "/cellar/bottles",
            bottles.to_string(),
            "no more than find room",
            message,
        );
    }
}

/// A cellar that is refilled more than once a week is none.
fn intake(answers: &mut Answers<'_>) {
    let [bottles, intake] = ["bottles", "weekly_intake"].map(|of| answers.number(&format!("/cellar/{of}")));
    if let (Some(bottles), Some(intake)) = (bottles, intake)
        && intake > bottles
    {
        let come = match intake == Decimal::ONE {
            true => "1 bottle comes".to_owned(),
            false => format!("{intake} bottles come"),
        };
        let message = format!("{come} in each week, and the cellar holds {bottles}");
        let allowed = "no more than /cellar/bottles";
        answers.say("/cellar/weekly_intake", intake.to_string(), allowed, message);
    }
}

pub(super) fn shown(value: Decimal) -> String {
    plain(to_scale(value, 2, Mode::HalfUp))
}
