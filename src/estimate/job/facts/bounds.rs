//! Between what the numbers of a job lie, as far as the form says it.

use crate::job::form::{Field, Form, Need, Shape};
use crate::quantity::Decimal;
use crate::quantity::fact::Bounds;

/// How a fact follows from answers of the form. An answer that is not given reads as zero.
enum Reading {
    /// The answer itself.
    Answer(&'static str),
    /// A percentage as a fraction.
    Percent(&'static str),
    /// The sum over all entries of a list.
    Sum(&'static str),
    /// The sum over those entries of a list that it asks for, of which there may be none.
    SomeOf(&'static str),
}
use Reading::{Answer, Percent, SomeOf, Sum};

const LINE_LENGTH: &str = "/line_set/legs/*/length";
const DRAIN_LENGTH: &str = "/drain/legs/*/length";
const PENETRATIONS: &str = "/line_set/penetrations/*/count";

/// The facts that are read from answers. Areas and volumes are worked out and only known not to be negative.
const READINGS: &[(&str, Reading)] = &[
    ("cellar.length", Answer("/cellar/length")),
    ("cellar.width", Answer("/cellar/width")),
    ("cellar.height", Answer("/cellar/height")),
    ("cellar.wall_r", Answer("/cellar/construction/wall_r")),
    ("cellar.ceiling_r", Answer("/cellar/construction/ceiling_r")),
    ("cellar.floor_r", Answer("/cellar/construction/floor_r")),
    ("cellar.air_temperature", Answer("/cellar/air_temperature")),
    ("cellar.humidity", Percent("/cellar/humidity")),
    (
        "cellar.infiltration_air.temperature",
        Answer("/cellar/infiltration_air/temperature"),
    ),
    (
        "cellar.infiltration_air.humidity",
        Percent("/cellar/infiltration_air/humidity"),
    ),
    ("cellar.lights.power", Answer("/cellar/lights/power")),
    ("cellar.lights.hours_a_day", Answer("/cellar/lights/hours_a_day")),
    ("cellar.people.count", Answer("/cellar/people/count")),
    ("cellar.people.hours_a_day", Answer("/cellar/people/hours_a_day")),
    ("cellar.bottles", Answer("/cellar/bottles")),
    ("cellar.weekly_intake", Answer("/cellar/weekly_intake")),
    ("cellar.intake_temperature", Answer("/cellar/intake_temperature")),
    (
        "cellar.door_openings_a_day",
        Answer("/cellar/door_openings_a_day"),
    ),
    ("unit.asked_count", Answer("/unit/count")),
    ("unit.ceiling_void", Answer("/unit/ceiling_void")),
    ("unit.joist_spacing", Answer("/unit/joist_spacing")),
    (
        "condenser.design_temperature",
        Answer("/condenser/design_temperature"),
    ),
    (
        "condenser.winter_temperature",
        Answer("/condenser/winter_temperature"),
    ),
    ("condenser.room_volume", Answer("/condenser/room_volume")),
    ("line_set.length", Sum(LINE_LENGTH)),
    ("line_set.rise", SomeOf(LINE_LENGTH)),
    ("line_set.drop", SomeOf(LINE_LENGTH)),
    ("line_set.vertical", SomeOf(LINE_LENGTH)),
    ("line_set.bends", Sum("/line_set/legs/*/bends")),
    ("line_set.length_in_cellar", SomeOf(LINE_LENGTH)),
    ("line_set.length_in_attic", SomeOf(LINE_LENGTH)),
    ("line_set.length_in_crawl", SomeOf(LINE_LENGTH)),
    ("line_set.length_in_finished", SomeOf(LINE_LENGTH)),
    ("line_set.length_in_open", SomeOf(LINE_LENGTH)),
    ("line_set.length_in_outdoors", SomeOf(LINE_LENGTH)),
    ("line_set.length_in_plenum", SomeOf(LINE_LENGTH)),
    ("penetrations.wood", SomeOf(PENETRATIONS)),
    ("penetrations.masonry", SomeOf(PENETRATIONS)),
    ("penetrations.roof", SomeOf(PENETRATIONS)),
    ("penetrations.fire_rated", SomeOf(PENETRATIONS)),
    ("penetrations.total", Sum(PENETRATIONS)),
    ("drain.length", Sum(DRAIN_LENGTH)),
    ("drain.rise", SomeOf(DRAIN_LENGTH)),
    ("drain.drop", SomeOf(DRAIN_LENGTH)),
    ("drain.fall", SomeOf("/drain/legs/*/fall")),
    ("drain.bends", Sum("/drain/legs/*/bends")),
    ("drain.length_in_cellar", SomeOf(DRAIN_LENGTH)),
    ("drain.length_in_attic", SomeOf(DRAIN_LENGTH)),
    ("drain.length_in_crawl", SomeOf(DRAIN_LENGTH)),
    ("drain.length_in_finished", SomeOf(DRAIN_LENGTH)),
    ("drain.length_in_open", SomeOf(DRAIN_LENGTH)),
    ("drain.length_in_outdoors", SomeOf(DRAIN_LENGTH)),
    ("drain.length_in_plenum", SomeOf(DRAIN_LENGTH)),
    (
        "drain.discharge_below_outlet",
        Answer("/drain/discharge_below_outlet"),
    ),
    ("controller.cable_route", Answer("/controller/cable_route")),
    ("probe.route", Answer("/controller/probe/route")),
    ("humidity.supply_length", Answer("/humidity/supply_length")),
    ("humidity.water_hardness", Answer("/humidity/water_hardness")),
    ("electrical.panel_length", Answer("/electrical/panel_length")),
    ("site.ceiling_height", Answer("/site/ceiling_height")),
    ("site.storeys", Answer("/site/storeys")),
    ("site.built_year", Answer("/site/built_year")),
    ("site.travel_time", Answer("/site/travel_time")),
    ("site.distance", Answer("/site/distance")),
    ("site.altitude", Answer("/site/altitude")),
    ("site.winter_temperature", Answer("/site/winter_temperature")),
    ("site.attic_temperature", Answer("/site/attic_temperature")),
    ("site.carry_distance", Answer("/site/carry_distance")),
    ("finishes.patch_area", Answer("/finishes/ceiling_patch/area")),
    ("painting.housing_coats", SomeOf("/finishes/painting/*/coats")),
    ("painting.bracket_coats", SomeOf("/finishes/painting/*/coats")),
    ("painting.grille_coats", SomeOf("/finishes/painting/*/coats")),
    ("painting.ceiling_coats", SomeOf("/finishes/painting/*/coats")),
    ("painting.ceiling_area", SomeOf("/finishes/painting/*/area")),
];

/// Worked out or counted: never below zero.
const NOT_NEGATIVE: [&str; 10] = [
    "cellar.volume",
    "cellar.floor_area",
    "cellar.ceiling_area",
    "cellar.wall_area",
    "cellar.door_area",
    "cellar.glazing_area",
    "line_set.segments",
    "drain.segments",
    "basis.unknown_count",
    "basis.assumed_count",
];

/// The answer that a number is read from as it stands.
pub(super) fn answer_of(fact: &str) -> Option<&'static str> {
    let (_, reading) = READINGS.iter().find(|(name, _)| *name == fact)?;
    match reading {
        Answer(pointer) => Some(pointer),
        Percent(_) | Sum(_) | SomeOf(_) => None,
    }
}

/// The bounds that the form sets.
pub(super) struct FormBounds {
    form: Form,
}

impl Default for FormBounds {
    fn default() -> Self {
        Self {
            form: Form::new(&[], &[]),
        }
    }
}

impl FormBounds {
    /// The bounds of a fact of the job; none for what is no number or follows from more than bounds.
    pub(super) fn of(&self, fact: &str) -> Bounds {
        if NOT_NEGATIVE.contains(&fact) {
            return Bounds::NOT_NEGATIVE;
        }
        let reading = READINGS.iter().find(|(name, _)| *name == fact);
        let bounds = reading.and_then(|(_, reading)| match reading {
            Answer(pointer) => self.answer(pointer).map(|found| found.bounds()),
            Percent(pointer) => {
                let found = self.answer(pointer)?.bounds();
                let share = |end: Option<Decimal>| end.and_then(|end| end.checked_mul(Decimal::new(1, 2)));
                Some(Bounds {
                    least: share(found.least),
                    greatest: share(found.greatest),
                })
            }
            Sum(pointer) => self.answer(pointer)?.sum(false),
            SomeOf(pointer) => self.answer(pointer)?.sum(true),
        });
        bounds.unwrap_or_default()
    }

    fn answer(&self, pointer: &str) -> Option<Found> {
        let mut found = Found {
            least: Decimal::ZERO,
            greatest: Decimal::ZERO,
            may_be_absent: false,
            entries: (Decimal::ONE, Decimal::ONE),
        };
        let mut shape = &self.form.job;
        for token in pointer.strip_prefix('/')?.split('/') {
            shape = match shape {
                Shape::Group(fields) => {
                    let field: &Field = fields.iter().find(|field| field.name == token)?;
                    found.may_be_absent |= !matches!(field.need, Need::Required | Need::Default(_));
                    &field.shape
                }
                Shape::List { item, min, max } => {
                    found.entries = ((*min).into(), (*max).into());
                    item
                }
                _ => return None,
            };
        }
        (found.least, found.greatest) = match shape {
            Shape::Measure { min, max, .. } | Shape::Number { min, max, .. } => (*min, *max),
            Shape::Count { min, max } => ((*min).into(), (*max).into()),
            _ => return None,
        };
        Some(found)
    }
}

/// What the form says of an answer.
struct Found {
    least: Decimal,
    greatest: Decimal,
    may_be_absent: bool,
    /// The least and the greatest count of entries of the list that it stands in.
    entries: (Decimal, Decimal),
}

impl Found {
    fn bounds(&self) -> Bounds {
        if self.may_be_absent {
            return Bounds::between(self.least.min(Decimal::ZERO), self.greatest.max(Decimal::ZERO));
        }
        Bounds::between(self.least, self.greatest)
    }

    /// The bounds of a sum over entries, all of them or `some` only.
    fn sum(&self, some: bool) -> Option<Bounds> {
        let least = if some || self.may_be_absent {
            Decimal::ZERO
        } else {
            self.least.checked_mul(self.entries.0)?
        };
        Some(Bounds::between(least, self.greatest.checked_mul(self.entries.1)?))
    }
}
