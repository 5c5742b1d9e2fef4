//! The scope in plain words: what the survey asks for and sizing came to, a sentence a subject.

use serde_json::Value;

use super::figure::Reader;
use super::paper_fault::PaperFault;
use super::routes;
use super::survey::{Painting, Survey, sized, units};
use super::words::Language;
use crate::job::choices::{
    ControllerLocation, ElectricalBy, Known, Mounting, PaintedPart, Painter, Texture, Trim, TrimColour,
};

/// The sentences, in the order of the work.
///
/// # Errors
/// A length of the survey is not one.
pub fn sentences(estimate: &Value, survey: &Survey, reader: Reader) -> Result<Vec<String>, PaperFault> {
    let told = Told {
        estimate,
        survey,
        reader,
    };
    let mut sentences = vec![
        told.unit(),
        told.place(),
        told.line_set()?,
        told.drain()?,
        told.controls(),
    ];
    sentences.extend(told.humidity());
    sentences.push(told.electrical());
    sentences.extend(told.finishes());
    sentences.extend(told.old_unit());
    Ok(sentences)
}

struct Told<'e> {
    estimate: &'e Value,
    survey: &'e Survey,
    reader: Reader,
}

impl Told<'_> {
    fn either(&self, english: String, spanish: String) -> String {
        match self.reader.language {
            Language::En => english,
            Language::Es => spanish,
        }
    }

    fn figure(&self, question: &str, name: &str) -> String {
        let value = sized(self.estimate, question, name);
        value
            .and_then(|value| self.reader.value(value))
            .unwrap_or_else(|| "–".to_owned())
    }

    fn is(&self, question: &str, name: &str) -> bool {
        sized(self.estimate, question, name) == Some(&Value::Bool(true))
    }

    fn unit(&self) -> String {
        let equipment = &self.estimate["sizing"]["equipment"];
        let title = equipment["title"].as_str().unwrap_or_default();
        let count = units(self.estimate);
        let air = self.reader.quantity(&self.survey.cellar.air_temperature);
        let (can, must) = (
            self.figure("unit_class", "total_capacity"),
            self.figure("cellar_load", "load.required"),
        );
        self.either(
            format!(
                "Supply and install {count} × {title}, ceiling-mounted, to keep the cellar at {air}: {can} at the \
                 temperatures of this site, where the cellar asks for {must}."
            ),
            format!(
                "Suministrar e instalar {count} × {title}, de techo, para mantener la cava a {air}: {can} a las \
                 temperaturas de este lugar, donde la cava pide {must}."
            ),
        )
    }

    fn place(&self) -> String {
        let (english, spanish) = match self.survey.unit.mounting {
            Mounting::Exposed => ("fully exposed below the ceiling", "a la vista bajo el techo"),
            Mounting::PartlyRecessed => (
                "partly recessed into the ceiling",
                "parcialmente empotrada en el techo",
            ),
            Mounting::Flush => (
                "flush, so that only the grille shows",
                "empotrada, de modo que solo se ve la rejilla",
            ),
        };
        let location = self
            .reader
            .language
            .choice(self.survey.condenser.location)
            .to_lowercase();
        let support = self
            .reader
            .language
            .choice(self.survey.condenser.support)
            .to_lowercase();
        let (the, la) = if units(self.estimate) > 1 {
            ("each", "cada")
        } else {
            ("the", "la")
        };
        self.either(
            format!(
                "Hang {the} ceiling unit {english}. Set {the} condensing unit {location}, carried by {support}."
            ),
            format!(
                "Colgar {la} unidad de techo {spanish}. Colocar {la} unidad condensadora {location}, apoyada en: {support}."
            ),
        )
    }

    /// How a length is known, behind it; nothing where the survey does not say.
    fn known(&self, pointer: &str) -> &'static str {
        let words = match self.survey.known(pointer) {
            None => return "",
            Some(Known::Measured) => (" as measured", " medidos"),
            Some(Known::Told) => (" as we were told", " según se nos dijo"),
            Some(Known::Assumed | Known::Unknown) => (" as assumed", " supuestos"),
        };
        match self.reader.language {
            Language::En => words.0,
            Language::Es => words.1,
        }
    }

    /// Said behind a length that is run once for each unit.
    fn each(&self) -> String {
        match units(self.estimate) {
            0 | 1 => String::new(),
            count => self.either(
                format!(" for each of {count} units"),
                format!(" para cada una de {count} unidades"),
            ),
        }
    }

    fn line_set(&self) -> Result<String, PaperFault> {
        let route = &self.survey.line_set;
        let length = routes::total(&route.legs)?
            .as_ref()
            .map(|shown| self.reader.quantity(shown));
        let length = length.unwrap_or_default();
        let known = self.known("/line_set/legs");
        let holes: u32 = route.penetrations.iter().map(|one| one.count).sum();
        let each = self.each();
        Ok(self.either(
            format!(
                "Run the insulated refrigerant lines between the two, {length}{known}{each}, and seal every \
                 penetration ({holes}{each}); test them under pressure, evacuate, charge and commission."
            ),
            format!(
                "Tender las líneas frigoríficas aisladas entre ambas, {length}{known}{each}, y sellar las \
                 perforaciones ({holes}{each}); probarlas a presión, hacer vacío, cargar y poner en marcha."
            ),
        ))
    }

    fn drain(&self) -> Result<String, PaperFault> {
        let length = routes::total(&self.survey.drain.legs)?
            .as_ref()
            .map(|shown| self.reader.quantity(shown));
        let length = length.unwrap_or_default();
        let known = self.known("/drain/legs");
        let discharge = self
            .reader
            .language
            .choice(self.survey.drain.discharge)
            .to_lowercase();
        let pumped = self.is("drain", "drain.pumped");
        let device = self.is("drain", "drain.antisiphon_needed");
        let english = match (pumped, device) {
            (true, true) => ", pumped, with an anti-siphon device at its highest place",
            (true, false) => ", pumped",
            (false, _) => ", by gravity",
        };
        let spanish = match (pumped, device) {
            (true, true) => ", por bomba, con un dispositivo antisifón en su punto más alto",
            (true, false) => ", por bomba",
            (false, _) => ", por gravedad",
        };
        let each = self.each();
        Ok(self.either(
            format!("Run the condensate drain, {length}{known}{each}, to this discharge: {discharge}{english}."),
            format!(
                "Tender el desagüe de condensado, {length}{known}{each}, hasta esta descarga: {discharge}{spanish}."
            ),
        ))
    }

    fn controls(&self) -> String {
        let controller = &self.survey.controller;
        let cable = self.reader.quantity(&controller.cable_route);
        let known = self.known("/controller/cable_route");
        let (english, spanish) = match controller.location {
            ControllerLocation::Inside => ("inside", "dentro de"),
            ControllerLocation::Outside => ("outside", "fuera de"),
        };
        let probe = if controller.probe.wanted {
            (
                ", and the liquid-temperature probe",
                ", y la sonda de temperatura de líquido",
            )
        } else {
            ("", "")
        };
        let each = self.each();
        self.either(
            format!(
                "Fit the controller {english} the cellar on {cable} of cable{known}{each}{}.",
                probe.0
            ),
            format!(
                "Montar el controlador {spanish} la cava con {cable} de cable{known}{each}{}.",
                probe.1
            ),
        )
    }

    fn humidity(&self) -> Option<String> {
        self.survey.humidity.wanted.then(|| {
            self.either(
                "Fit the humidity module and connect it to the soft-water supply.".to_owned(),
                "Montar el módulo de humedad y conectarlo al suministro de agua blanda.".to_owned(),
            )
        })
    }

    fn electrical(&self) -> String {
        let circuit = &self.survey.electrical;
        let length = self.reader.quantity(&circuit.panel_length);
        let known = self.known("/electrical/panel_length");
        let each = self.each();
        match circuit.by {
            ElectricalBy::Owner => self.either(
                format!("The circuit, {length} from the panel{known}{each}, is made by the owner's electrician."),
                format!(
                    "El circuito, a {length} del tablero{known}{each}, lo hace el electricista del propietario."
                ),
            ),
            ElectricalBy::Us | ElectricalBy::Electrician => self.either(
                format!(
                    "Make the branch circuit, {length} from the panel{known}{each}, by a licensed electrician."
                ),
                format!(
                    "Hacer el circuito, a {length} del tablero{known}{each}, por un electricista con licencia."
                ),
            ),
        }
    }

    fn finishes(&self) -> Vec<String> {
        let finishes = &self.survey.finishes;
        let mut told = Vec::new();
        let custom = finishes.trim_colour == TrimColour::Custom;
        let colour = if custom {
            (" in a colour made to order", " en un color por encargo")
        } else {
            ("", "")
        };
        match finishes.trim {
            Trim::None => {}
            Trim::Frame => told.push(self.either(
                format!("Fit a decorative frame around the opening{}.", colour.0),
                format!(
                    "Colocar un marco decorativo alrededor de la abertura{}.",
                    colour.1
                ),
            )),
            Trim::Cover => told.push(self.either(
                format!("Fit a decorative cover over the housing{}.", colour.0),
                format!("Colocar una cubierta decorativa sobre la carcasa{}.", colour.1),
            )),
        }
        told.extend(finishes.painting.iter().map(|painting| self.painting(painting)));
        if let Some(patch) = &finishes.ceiling_patch {
            let area = self.reader.quantity(&patch.area);
            let (english, spanish) = match patch.texture {
                Texture::Smooth => ("smooth", "acabado liso"),
                Texture::Textured => ("textured", "acabado texturizado"),
            };
            told.push(self.either(
                format!("Patch {area} of ceiling, {english}."),
                format!("Reparar {area} de techo, {spanish}."),
            ));
        }
        told
    }

    fn painting(&self, painting: &Painting) -> String {
        let part = self.reader.language.choice(painting.part).to_lowercase();
        let area = painting.area.as_ref().map(|shown| self.reader.quantity(shown));
        let area = match (painting.part, area) {
            (PaintedPart::Ceiling, Some(area)) => format!(", {area}"),
            _ => String::new(),
        };
        let coats = painting.coats;
        match painting.by {
            Painter::Owner => self.either(
                format!("Painting of {part} is done by the owner."),
                format!("La pintura de {part} la hace el propietario."),
            ),
            Painter::Us | Painter::Painter => {
                let words = self.reader.words();
                let name = if coats == 1 { words.coat } else { words.coats };
                self.either(
                    format!("Paint {part}{area}, {coats} {name}."),
                    format!("Pintar {part}{area}, {coats} {name}."),
                )
            }
        }
    }

    fn old_unit(&self) -> Option<String> {
        self.survey.site.replaces_old_unit.then(|| {
            self.either(
                "Take out the old unit; its refrigerant is recovered, weighed and recorded.".to_owned(),
                "Retirar la unidad antigua; su refrigerante se recupera, pesa y registra.".to_owned(),
            )
        })
    }
}
