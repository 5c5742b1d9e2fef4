//! What the crew works from. There is no price in it.

use serde::Serialize;
use serde_json::Value;

use super::fault::HandoffFault;
use super::figure;
use super::head::Head;
use super::offer::Offer;
use super::paper::{Kind, Paper};
use super::routes;
use super::survey::{Leg, Survey, sized};
use super::words::{Language, Words};
use crate::pricing::PRICING_POLICY;
use crate::quantity::rounding::{Mode, to_scale};
use crate::quantity::unit::Unit;
use crate::quantity::{Decimal, Quantity};

/// A label and what stands behind it; rows without the latter are left out.
type Fact = (&'static str, Option<String>);

/// The contents of a job sheet.
#[derive(Debug, Serialize)]
struct JobSheet {
    words: &'static Words,
    head: Head,
    groups: Vec<Group>,
    drawing_alt: String,
    line_set: Vec<LegRow>,
    drain: Vec<LegRow>,
    penetrations: Vec<[String; 3]>,
    tasks: Vec<TaskSection>,
    hours: Vec<[String; 2]>,
    other_works: Vec<String>,
    material: Vec<Load>,
    hints: Vec<String>,
    assumptions: Vec<String>,
    not_in_scope: Vec<String>,
    cautions: Vec<String>,
    record: Vec<&'static str>,
    as_built: Vec<[String; 2]>,
}

/// Facts under a heading.
#[derive(Debug, Serialize)]
struct Group {
    title: &'static str,
    rows: Vec<(&'static str, String)>,
}

/// A leg of a route.
#[derive(Debug, Serialize)]
struct LegRow {
    name: String,
    direction: &'static str,
    length: String,
    space: &'static str,
    bends: String,
    height: String,
    fall: Option<String>,
}

/// The tasks of a section of the work.
#[derive(Debug, Serialize)]
struct TaskSection {
    title: String,
    tasks: Vec<[String; 3]>,
}

/// Something to load.
#[derive(Debug, Serialize)]
struct Load {
    code: String,
    description: String,
    needed: String,
    packs: String,
}

/// Makes the job sheet.
///
/// # Errors
/// The estimate does not read.
pub fn job_sheet(offer: &Offer) -> Result<Paper, HandoffFault> {
    let words = offer.words();
    let (tree, language) = (offer.estimated.tree(), offer.language());
    let survey = Survey::read(tree)?;
    let drawing = offer.drawing()?;
    let lines = tree["lines"].as_array().map_or(&[][..], Vec::as_slice);
    let content = JobSheet {
        words,
        head: Head::of(offer, &survey),
        groups: Facts {
            tree,
            survey: &survey,
            language,
            words,
        }
        .groups()?,
        drawing_alt: drawing.alt.clone(),
        line_set: legs("L", &survey.line_set.legs, language)?,
        drain: legs("D", &survey.drain.legs, language)?,
        penetrations: penetrations(&survey, language),
        tasks: tasks(lines, words),
        hours: hours(offer),
        other_works: other_works(lines),
        material: material(lines)?,
        hints: hints(lines),
        assumptions: texts(&tree["assumptions"], "wording"),
        not_in_scope: texts(&tree["exclusions"], "text")
            .into_iter()
            .chain(offer.exclusions.iter().cloned())
            .collect(),
        cautions: cautions(&tree["cautions"]),
        record: record(words),
        as_built: as_built(&survey, words)?,
    };
    offer.paper(Kind::JobSheet, words.job_sheet, drawing, &content)
}

struct Facts<'e> {
    tree: &'e Value,
    survey: &'e Survey,
    language: Language,
    words: &'static Words,
}

impl Facts<'_> {
    fn sized(&self, question: &str, name: &str) -> Option<String> {
        figure::value(sized(self.tree, question, name)?, self.language)
    }

    fn yes_no(&self, it_is: bool) -> Option<String> {
        Some(if it_is { self.words.yes } else { self.words.no }.to_owned())
    }

    fn groups(&self) -> Result<Vec<Group>, HandoffFault> {
        let words = self.words;
        let groups = [
            (words.equipment, self.equipment()),
            (words.mounting, self.mounting()),
            (words.line_set, self.line_set()?),
            (words.drain, self.drain()),
            (words.circuit, self.circuit()),
            (words.controls, self.controls()),
        ];
        Ok(groups
            .into_iter()
            .map(|(title, rows)| Group {
                title,
                rows: rows
                    .into_iter()
                    .filter_map(|(label, value)| Some((label, value?)))
                    .collect(),
            })
            .collect())
    }

    fn equipment(&self) -> Vec<Fact> {
        let (words, language) = (self.words, self.language);
        let equipment = &self.tree["sizing"]["equipment"];
        let site = &self.survey.site;
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
            (words.humidity, self.yes_no(self.survey.humidity.wanted)),
            (
                words.site,
                Some(format!(
                    "{}; {}",
                    language.choice(site.hours),
                    language.choice(site.parking).to_lowercase()
                )),
            ),
        ]
    }

    fn mounting(&self) -> Vec<Fact> {
        let (words, language) = (self.words, self.language);
        let finishes = &self.survey.finishes;
        let painted = finishes.painting.iter().map(|one| {
            let area = one
                .area
                .as_ref()
                .map(|area| format!(" {}", figure::quantity(area)));
            format!(
                "{}{}, {} {}: {}",
                language.choice(one.part),
                area.unwrap_or_default(),
                one.coats,
                words.coats,
                language.choice(one.by).to_lowercase()
            )
        });
        let painted: Vec<String> = painted.collect();
        let patch = finishes.ceiling_patch.as_ref().map(|patch| {
            let texture = language.choice(patch.texture).to_lowercase();
            format!("{}, {texture}", figure::quantity(&patch.area))
        });
        vec![
            (
                words.mounting,
                Some(language.choice(self.survey.unit.mounting).to_owned()),
            ),
            (
                words.framing,
                Some(language.choice(self.survey.unit.framing).to_owned()),
            ),
            (words.void_needed, self.sized("mounting", "mounting.void_needed")),
            (words.clear_bay, self.sized("mounting", "mounting.clear_bay")),
            (words.weight, self.sized("hanging", "hanging.load")),
            (words.persons, self.sized("hanging", "hanging.persons")),
            (words.fasteners, self.sized("hanging", "hanging.fasteners")),
            (words.screw_size, self.sized("hanging", "hanging.screw_size")),
            (words.blocking, self.sized("hanging", "hanging.blocking_length")),
            (words.trim, Some(language.choice(finishes.trim).to_owned())),
            (words.painting, (!painted.is_empty()).then(|| painted.join("; "))),
            (words.patch, patch),
        ]
    }

    fn line_set(&self) -> Result<Vec<Fact>, HandoffFault> {
        let words = self.words;
        let total = routes::total(&self.survey.line_set.legs)?;
        Ok(vec![
            (words.length, total.as_ref().map(figure::quantity)),
            (
                words.tube,
                Some(self.language.choice(self.survey.line_set.tube).to_owned()),
            ),
            (words.suction, self.sized("line_set", "line_set.suction_size")),
            (words.riser, self.sized("line_set", "line_set.riser_size")),
            (words.liquid, self.sized("line_set", "line_set.liquid_size")),
            (
                words.insulation,
                self.sized("insulation", "insulation.suction_thickness"),
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
                "{}, {}",
                part("drain.antisiphon_height"),
                part("drain.antisiphon_distance")
            )
        });
        let pumped = is("drain.pumped");
        vec![
            (
                words.discharge,
                Some(self.language.choice(self.survey.drain.discharge).to_owned()),
            ),
            (words.drain_size, self.sized("drain", "drain.tube_size")),
            (words.pumped, self.yes_no(pumped)),
            (words.lift, self.sized("drain", "drain.lift").filter(|_| pumped)),
            (words.antisiphon_place, device),
            (words.trap_needed, self.sized("drain", "drain.trap_needed")),
            (
                words.overflow_switch,
                self.sized("drain", "drain.overflow_switch"),
            ),
            (words.fall_needed, self.sized("drain", "drain.fall_needed")),
        ]
    }

    fn circuit(&self) -> Vec<Fact> {
        let (words, language) = (self.words, self.language);
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
                Some(figure::quantity(&circuit.panel_length)),
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
        let (words, language) = (self.words, self.language);
        let controller = &self.survey.controller;
        let probe = controller.probe.wanted;
        vec![
            (
                words.controller,
                Some(language.choice(controller.location).to_owned()),
            ),
            (words.cable_route, Some(figure::quantity(&controller.cable_route))),
            (words.fished, self.yes_no(controller.finished_walls)),
            (words.probe, probe.then(|| words.probe_place.to_owned())),
            (
                words.lead,
                controller
                    .probe
                    .route
                    .as_ref()
                    .filter(|_| probe)
                    .map(figure::quantity),
            ),
        ]
    }
}

fn legs(mark: &str, legs: &[Leg], language: Language) -> Result<Vec<LegRow>, HandoffFault> {
    let runs = routes::unfold(legs)?;
    let like = legs.first().map_or(Unit::FT, |leg| leg.length.unit);
    let rows = runs.iter().enumerate().map(|(at, run)| {
        Ok(LegRow {
            name: format!("{mark}{}", at + 1),
            direction: language.choice(run.leg.direction),
            length: figure::quantity(&run.leg.length),
            space: language.choice(run.leg.space),
            bends: run.leg.bends.to_string(),
            height: routes::height(run.to.y, like)?,
            fall: run.leg.fall.as_ref().map(figure::quantity),
        })
    });
    rows.collect()
}

fn penetrations(survey: &Survey, language: Language) -> Vec<[String; 3]> {
    let words = language.words();
    let rows = survey.line_set.penetrations.iter().map(|one| {
        let rated = if one.fire_rated { words.yes } else { words.no };
        [
            language.choice(one.construction).to_owned(),
            one.count.to_string(),
            rated.to_owned(),
        ]
    });
    rows.collect()
}

/// A code as a person reads it: `lead_mechanic` as `Lead mechanic`.
fn spoken(code: &str) -> String {
    let text = code.replace(['_', '-'], " ");
    let mut letters = text.chars();
    letters
        .next()
        .map(|first| first.to_uppercase().chain(letters).collect())
        .unwrap_or_default()
}

fn quantity(tree: &Value) -> Option<Quantity> {
    serde_json::from_value(tree.clone()).ok()
}

fn hours_text(hours: Decimal) -> String {
    figure::digits(to_scale(hours, 2, Mode::HalfUp))
}

fn text(line: &Value, name: &str) -> String {
    line[name].as_str().unwrap_or_default().to_owned()
}

fn tasks(lines: &[Value], words: &'static Words) -> Vec<TaskSection> {
    let mut sections: Vec<TaskSection> = Vec::new();
    for line in lines.iter().filter(|line| line["kind"] == "labour") {
        let title = line["section"].as_str().unwrap_or(words.by_hand);
        let hours = quantity(&line["hours"]).map(|hours| hours_text(hours.value));
        let who = line["labour_class"].as_str().map(spoken);
        let task = [
            text(line, "description"),
            who.unwrap_or_default(),
            hours.unwrap_or_default(),
        ];
        match sections.iter_mut().find(|section| section.title == title) {
            Some(section) => section.tasks.push(task),
            None => sections.push(TaskSection {
                title: title.to_owned(),
                tasks: vec![task],
            }),
        }
    }
    sections
}

/// Hours by class, as the office rounds them.
fn hours(offer: &Offer) -> Vec<[String; 2]> {
    let classes = offer.estimated.part("labour").as_array();
    let rows = classes.into_iter().flatten().filter_map(|class| {
        let hours = quantity(&class["hours"])?;
        Some([spoken(class["labour_class"].as_str()?), hours_text(hours.value)])
    });
    rows.collect()
}

fn other_works(lines: &[Value]) -> Vec<String> {
    let works = lines.iter().filter(|line| line["kind"] == "subcontract");
    works.map(|line| text(line, "description")).collect()
}

fn material(lines: &[Value]) -> Result<Vec<Load>, HandoffFault> {
    let goods = lines.iter().filter(|line| line["kind"] == "material");
    let loads = goods.map(|line| {
        let needed = match (quantity(&line["quantity"]), quantity(&line["waste"])) {
            (Some(needed), Some(waste)) => {
                let value = needed.value.checked_add(waste.value);
                let value = value.ok_or(HandoffFault::TooLarge("a quantity"))?;
                figure::quantity(&Quantity { value, ..needed })
            }
            (Some(needed), None) => figure::quantity(&needed),
            (None, _) => String::new(),
        };
        let packs = line["bought"]["packs"]
            .as_array()
            .into_iter()
            .flatten()
            .map(|pack| {
                let size = quantity(&pack["size"]).map(|size| figure::quantity(&size));
                let (count, name) = (&pack["count"], pack["name"].as_str().unwrap_or_default());
                format!("{count} × {name} ({})", size.unwrap_or_default())
            });
        Ok(Load {
            code: text(line, "code"),
            description: text(line, "description"),
            needed,
            packs: packs.collect::<Vec<_>>().join(", "),
        })
    });
    loads.collect()
}

/// What the rulebook notes at a line, each once.
fn hints(lines: &[Value]) -> Vec<String> {
    let mut found: Vec<String> = Vec::new();
    for line in lines {
        if let Some(note) = line["note"].as_str() {
            let hint = format!("{}: {note}", text(line, "description"));
            if !found.contains(&hint) {
                found.push(hint);
            }
        }
    }
    found
}

fn texts(list: &Value, name: &str) -> Vec<String> {
    let entries = list.as_array().into_iter().flatten();
    entries
        .filter_map(|entry| entry[name].as_str())
        .map(str::to_owned)
        .collect()
}

/// Every caution but those that speak of money.
fn cautions(list: &Value) -> Vec<String> {
    let entries = list.as_array().into_iter().flatten();
    let work = entries.filter(|caution| caution["source"] != PRICING_POLICY);
    work.map(|caution| text(caution, "message")).collect()
}

fn record(words: &'static Words) -> Vec<&'static str> {
    vec![
        words.rec_serials,
        words.rec_nitrogen,
        words.rec_pressure,
        words.rec_vacuum,
        words.rec_leak,
        words.rec_charge,
        words.rec_electric,
        words.rec_pressures,
        words.rec_superheat,
        words.rec_subcooling,
        words.rec_pump_down,
        words.rec_temperatures,
        words.rec_humidity,
        words.rec_drain,
        words.rec_setpoint,
        words.rec_alarm,
        words.rec_photos,
        words.rec_technician,
        words.rec_owner,
    ]
}

fn as_built(survey: &Survey, words: &'static Words) -> Result<Vec<[String; 2]>, HandoffFault> {
    let shown = |quantity: Option<Quantity>| quantity.as_ref().map(figure::quantity).unwrap_or_default();
    let controller = &survey.controller;
    let mut rows = vec![
        [
            words.line_set.to_owned(),
            shown(routes::total(&survey.line_set.legs)?),
        ],
        [words.drain.to_owned(), shown(routes::total(&survey.drain.legs)?)],
        [
            words.cable_route.to_owned(),
            figure::quantity(&controller.cable_route),
        ],
        [
            words.circuit.to_owned(),
            figure::quantity(&survey.electrical.panel_length),
        ],
    ];
    if let Some(route) = controller.probe.route.filter(|_| controller.probe.wanted) {
        rows.push([
            format!("{}, {}", words.probe, words.lead.to_lowercase()),
            figure::quantity(&route),
        ]);
    }
    Ok(rows)
}
