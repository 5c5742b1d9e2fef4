//! What the crew must know of equipment, mounting, lines, drain, circuit and controls.

use serde::Serialize;
use serde_json::Value;

use crate::handoff::figure::{Reader, digits, quantity};
use crate::handoff::paper_fault::PaperFault;
use crate::handoff::routes;
use crate::handoff::survey::{Survey, sized, units};
use crate::handoff::words::Words;
use crate::job::choices::{Framing, Trim};
use crate::quantity::rounding::{Mode, count, to_scale};
use crate::quantity::unit::Unit;
use crate::quantity::{Decimal, Quantity};

/// A label and what stands behind it; rows without the latter are left out.
type Fact = (&'static str, Option<String>);

/// Facts under a heading.
#[derive(Debug, Serialize)]
pub(super) struct Group {
    title: String,
    rows: Vec<(&'static str, String)>,
}

/// The facts of a job.
pub(super) struct Facts<'e> {
    pub(super) tree: &'e Value,
    pub(super) survey: &'e Survey,
    pub(super) reader: Reader,
    pub(super) words: &'static Words,
}

impl Facts<'_> {
    fn sized(&self, question: &str, name: &str) -> Option<String> {
        self.reader.value(sized(self.tree, question, name)?)
    }

    /// A size by which the trade calls a thing: it is in inches for every reader.
    fn nominal(&self, question: &str, name: &str) -> Option<String> {
        match sized(self.tree, question, name)? {
            Value::String(size) => Some(format!("{size} in")),
            size => inches(&serde_json::from_value(size.clone()).ok()?),
        }
    }

    /// A figure that says nothing where it is zero.
    fn if_any(&self, question: &str, name: &str) -> Option<String> {
        let figure = sized(self.tree, question, name)?;
        let figure = serde_json::from_value::<Quantity>(figure.clone()).ok()?;
        (!figure.value.is_zero()).then(|| self.reader.quantity(&figure))
    }

    fn yes_no(&self, it_is: bool) -> Option<String> {
        Some(if it_is { self.words.yes } else { self.words.no }.to_owned())
    }

    pub(super) fn groups(&self) -> Result<Vec<Group>, PaperFault> {
        let words = self.words;
        let each = |title| each_of(self.tree, title, words);
        let groups = [
            (words.equipment.to_owned(), self.equipment()),
            (each(words.mounting), self.mounting()),
            (each(words.line_set), self.line_set()?),
            (each(words.drain), self.drain()),
            (each(words.circuit), self.circuit()),
            (each(words.controls), self.controls()),
            (words.finishes.to_owned(), self.finishes()),
        ];
        let groups = groups.into_iter().map(|(title, rows)| Group {
            title,
            rows: rows
                .into_iter()
                .filter_map(|(label, value)| Some((label, value?)))
                .collect(),
        });
        Ok(groups.filter(|group| !group.rows.is_empty()).collect())
    }

    fn equipment(&self) -> Vec<Fact> {
        let (words, language) = (self.words, self.reader.language);
        let equipment = &self.tree["sizing"]["equipment"];
        let (site, water) = (&self.survey.site, &self.survey.humidity);
        let if_wanted = |told: &Option<Quantity>| {
            let told = told.as_ref().filter(|_| water.wanted);
            told.map(|told| self.reader.quantity(told))
        };
        let (place, support) = (
            language.choice(self.survey.condenser.location),
            language.choice(self.survey.condenser.support),
        );
        vec![
            (words.ceiling_unit, equipment["title"].as_str().map(str::to_owned)),
            (
                words.units,
                equipment["count"].as_u64().map(|count| count.to_string()),
            ),
            (
                words.condensing_unit,
                Some(format!("{place}; {}", support.to_lowercase())),
            ),
            (
                words.service,
                Some(language.choice(self.survey.unit.service_access).to_owned()),
            ),
            (words.humidity, self.yes_no(water.wanted)),
            (words.water_line, if_wanted(&water.supply_length)),
            (words.hardness, if_wanted(&water.water_hardness)),
            (
                words.hours_and_parking,
                Some(format!(
                    "{}; {}",
                    language.choice(site.hours),
                    language.choice(site.parking).to_lowercase()
                )),
            ),
        ]
    }

    fn mounting(&self) -> Vec<Fact> {
        let (words, language) = (self.words, self.reader.language);
        let finishes = &self.survey.finishes;
        let colour = (finishes.trim != Trim::None).then(|| language.choice(finishes.trim_colour).to_owned());
        vec![
            (
                words.mounting,
                Some(language.choice(self.survey.unit.mounting).to_owned()),
            ),
            (
                words.framing,
                Some(language.choice(self.survey.unit.framing).to_owned()),
            ),
            (words.void_needed, self.if_any("mounting", "mounting.void_needed")),
            (words.clear_bay, self.if_any("mounting", "mounting.clear_bay")),
            (words.weight, self.sized("hanging", "hanging.load")),
            (words.persons, self.sized("hanging", "hanging.persons")),
            (words.fasteners, self.sized("hanging", "hanging.fasteners")),
            (
                words.screw_size,
                self.nominal("hanging", "hanging.screw_size")
                    .filter(|_| self.survey.unit.framing != Framing::Concrete),
            ),
            (words.blocking, self.if_any("hanging", "hanging.blocking_length")),
            (words.trim, Some(language.choice(finishes.trim).to_owned())),
            (words.trim_colour, colour),
        ]
    }

    /// What is painted and patched, of the whole job.
    fn finishes(&self) -> Vec<Fact> {
        let (words, language) = (self.words, self.reader.language);
        let finishes = &self.survey.finishes;
        let painted = finishes.painting.iter().map(|one| {
            let area = one
                .area
                .as_ref()
                .map(|area| format!(" {}", self.reader.quantity(area)));
            format!(
                "{}{}, {} {}: {}",
                language.choice(one.part),
                area.unwrap_or_default(),
                one.coats,
                if one.coats == 1 { words.coat } else { words.coats },
                language.choice(one.by).to_lowercase()
            )
        });
        let painted: Vec<String> = painted.collect();
        let patch = finishes.ceiling_patch.as_ref().map(|patch| {
            let texture = language.choice(patch.texture).to_lowercase();
            format!("{}, {texture}", self.reader.quantity(&patch.area))
        });
        vec![
            (words.painting, (!painted.is_empty()).then(|| painted.join("; "))),
            (words.patch, patch),
        ]
    }

    fn line_set(&self) -> Result<Vec<Fact>, PaperFault> {
        let words = self.words;
        let total = routes::total(&self.survey.line_set.legs)?;
        Ok(vec![
            (
                words.length,
                total.as_ref().map(|shown| self.reader.quantity(shown)),
            ),
            (
                words.tube,
                Some(self.reader.language.choice(self.survey.line_set.tube).to_owned()),
            ),
            (words.suction, self.nominal("line_set", "line_set.suction_size")),
            (words.riser, self.nominal("line_set", "line_set.riser_size")),
            (words.liquid, self.nominal("line_set", "line_set.liquid_size")),
            (
                words.insulation,
                self.nominal("insulation", "insulation.suction_thickness"),
            ),
            (words.traps, self.sized("line_set", "line_set.traps")),
            (words.joints, self.sized("line_set", "line_set.joints")),
            (
                words.extra_charge,
                self.sized("line_set", "line_set.extra_charge"),
            ),
            (
                words.total_charge,
                self.sized("line_set", "line_set.total_charge"),
            ),
        ])
    }

    fn drain(&self) -> Vec<Fact> {
        let words = self.words;
        let is = |name| sized(self.tree, "drain", name) == Some(&Value::Bool(true));
        let device = is("drain.antisiphon_needed").then(|| {
            let part = |name| self.sized("drain", name).unwrap_or_default();
            format!(
                "{} {}; {} {}",
                part("drain.antisiphon_height"),
                words.above_outlet,
                part("drain.antisiphon_distance"),
                words.along_route
            )
        });
        let pumped = is("drain.pumped");
        vec![
            (
                words.discharge,
                Some(
                    self.reader
                        .language
                        .choice(self.survey.drain.discharge)
                        .to_owned(),
                ),
            ),
            (words.drain_size, self.nominal("drain", "drain.tube_size")),
            (words.pumped, self.yes_no(pumped)),
            (words.lift, self.sized("drain", "drain.lift").filter(|_| pumped)),
            (words.antisiphon, device),
            (words.trap_needed, self.sized("drain", "drain.trap_needed")),
            (
                words.overflow_switch,
                self.sized("drain", "drain.overflow_switch"),
            ),
            (words.fall_needed, self.sized("drain", "drain.fall_needed")),
        ]
    }

    fn circuit(&self) -> Vec<Fact> {
        let (words, language) = (self.words, self.reader.language);
        let circuit = &self.survey.electrical;
        vec![
            (
                words.supply,
                Some(language.choice(circuit.supply_voltage).to_owned()),
            ),
            (words.breaker, self.sized("wiring", "wiring.breaker")),
            (words.conductor, self.sized("wiring", "wiring.conductor")),
            (words.ground, self.sized("wiring", "wiring.ground")),
            (
                words.circuit_length,
                Some(self.reader.quantity(&circuit.panel_length)),
            ),
            (
                words.connection,
                Some(language.choice(circuit.connection).to_owned()),
            ),
            (
                words.wiring_method,
                Some(language.choice(circuit.method).to_owned()),
            ),
            (words.by_whom, Some(language.choice(circuit.by).to_owned())),
        ]
    }

    fn controls(&self) -> Vec<Fact> {
        let (words, language) = (self.words, self.reader.language);
        let controller = &self.survey.controller;
        let probe = controller.probe.wanted;
        let air = self.reader.quantity(&self.survey.cellar.air_temperature);
        let humidity = self.survey.cellar.humidity.map(digits);
        let humidity = humidity.map(|percent| format!("; {percent} % {}", words.relative_humidity));
        vec![
            (
                words.set_points,
                Some(format!("{air}{}", humidity.unwrap_or_default())),
            ),
            (
                words.controller,
                Some(language.choice(controller.location).to_owned()),
            ),
            (
                words.cable_route,
                Some(self.reader.quantity(&controller.cable_route)),
            ),
            (words.fished, self.yes_no(controller.finished_walls)),
            (words.probe, probe.then(|| words.probe_place.to_owned())),
            (
                words.lead,
                controller
                    .probe
                    .route
                    .as_ref()
                    .filter(|_| probe)
                    .map(|shown| self.reader.quantity(shown)),
            ),
        ]
    }
}

/// A heading over what is surveyed once and done for each unit.
pub(super) fn each_of(tree: &Value, title: &str, words: &'static Words) -> String {
    match units(tree) {
        0 | 1 => title.to_owned(),
        count => format!(
            "{title}, {} {count} {}",
            words.each_of,
            words.units.to_lowercase()
        ),
    }
}

/// Parts into which the trade divides an inch.
const PARTS: i64 = 16;

/// Decimals to which sizing tells a nominal size: 3/8 in is 0.38 in there.
const TOLD_SCALE: u32 = 2;

/// A length in whole inches and a fraction: `1-1/4 in`. One that is no such fraction has decimals.
fn inches(size: &Quantity) -> Option<String> {
    let value = size.unit.convert(size.value, &Unit::IN).ok()?;
    let whole = count(value.checked_mul(Decimal::from(PARTS))?, 0, Mode::HalfUp)?;
    let meant = Decimal::from(whole).checked_div(Decimal::from(PARTS))?;
    if value != meant && value != to_scale(meant, TOLD_SCALE, Mode::HalfUp) {
        return Some(quantity(size));
    }
    let parts = whole;
    let (whole, mut over, mut under) = (parts / PARTS, parts % PARTS, PARTS);
    while over % 2 == 0 && under > 1 {
        (over, under) = (over / 2, under / 2);
    }
    Some(match (whole, over) {
        (_, 0) => format!("{whole} in"),
        (0, _) => format!("{over}/{under} in"),
        _ => format!("{whole}-{over}/{under} in"),
    })
}
