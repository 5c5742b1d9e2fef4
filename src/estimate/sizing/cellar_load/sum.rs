//! The load while it is added up, part by part.

use super::{
    AirExchangeBasis, Bottles, CellarLoadInput, Component, FirstFillHeat, Gain, LoadKind, SOURCE, Surface,
};
use crate::sizing::air::{self, MoistAir};
use crate::sizing::envelope;
use crate::sizing::finding::Finding;
use crate::sizing::finite::Finite;
use crate::sizing::heat_rate::{HeatRate, fahrenheit};
use crate::sizing::infiltration::{self, AirExchange};
use crate::sizing::range::{InputFault, within};

/// Required capacity per volume outside which the survey deserves a second look, Btu/h per ft³.
const USUAL_BTU_H_FT3: (f64, f64) = (2.0, 7.0);
const COMMON_PRACTICE: &str = "common practice, no source";
/// One Btu (International Table) in J.
const BTU_J: f64 = 1_055.055_852_62;

/// The load while it is added up.
#[derive(Default)]
pub(super) struct Sum {
    pub components: Vec<Component>,
    pub sensible_w: f64,
    pub latent_w: f64,
    pub findings: Vec<Finding>,
}

impl Sum {
    fn add(&mut self, kind: LoadKind, name: &str, sensible_w: f64, latent_w: f64) -> Result<(), InputFault> {
        self.sensible_w += sensible_w;
        self.latent_w += latent_w;
        self.components.push(Component {
            kind,
            name: name.to_owned(),
            transmittance: None,
            sensible: HeatRate::from_watts(sensible_w, "a sensible load")?,
            latent: HeatRate::from_watts(latent_w, "a latent load")?,
            total: HeatRate::from_watts(sensible_w + latent_w, "a load")?,
        });
        Ok(())
    }

    pub(super) fn add_surface(&mut self, surface: &Surface, cellar_c: f64) -> Result<(), InputFault> {
        let area = within("area of a face", surface.area_ft2, (0.0, 100_000.0), "ft²")?;
        let behind_c = within("temperature behind a face", surface.behind_c, (-40.0, 80.0), "°C")?;
        let transmittance = envelope::transmittance(&surface.construction, surface.face)?;
        let heat_w = envelope::conduction_w(&transmittance, area, behind_c, cellar_c);
        if behind_c < cellar_c {
            let message = format!(
                "{}: {:.1} °F behind it is colder than the cellar by {:.1} °F; it is counted as no gain, never as cooling",
                surface.name,
                fahrenheit(behind_c),
                (cellar_c - behind_c) * 1.8,
            );
            self.findings.push(Finding::caution(
                "cellar_load.cold_behind_face",
                message,
                COMMON_PRACTICE,
            ));
        }
        self.add(LoadKind::Conduction, &surface.name, heat_w.max(0.0), 0.0)?;
        if let Some(component) = self.components.last_mut() {
            component.transmittance = Some(transmittance);
        }
        Ok(())
    }

    /// Gives back the air changes in 24 h and the water brought in, kg/h.
    pub(super) fn add_air(&mut self, input: &CellarLoadInput) -> Result<(Finite, f64), InputFault> {
        let p_pa = air::standard_pressure_pa(input.altitude_m)?.get();
        let inside = MoistAir::from_relative_humidity(input.cellar_c, input.cellar_rh, p_pa)?;
        let outside = MoistAir::from_relative_humidity(input.surrounding_c, input.surrounding_rh, p_pa)?;
        let changes = match input.air_exchange {
            AirExchangeBasis::ByVolume { use_factor } => {
                let factor = within("use factor", use_factor, (0.1, 4.0), "(factor)")?;
                let average = infiltration::air_changes(input.volume_ft3)?;
                if average.below_table {
                    let message = format!(
                        "the air-change table begins at 200 ft³; for {:.0} ft³ as much air is counted as for a \
                         200 ft³ room, which is on the safe side",
                        input.volume_ft3
                    );
                    self.findings.push(Finding::caution(
                        "cellar_load.below_air_table",
                        message,
                        infiltration::SOURCE,
                    ));
                }
                average.per_24h.get() * factor
            }
            AirExchangeBasis::ChangesPerHour { changes } => {
                within("air changes", changes, (0.0, 30.0), "per hour")? * 24.0
            }
        };
        let leakage = infiltration::exchange_by_changes(input.volume_ft3, changes, &outside, &inside)?;
        self.add_exchange(LoadKind::Infiltration, "infiltration", &leakage)?;
        let mut water_kg_h = leakage.water_kg_h.get();
        if let Some(doorway) = &input.doorway {
            let through = infiltration::exchange_by_doorway(doorway, &outside, &inside)?;
            self.add_exchange(LoadKind::Doorway, "doorway", &through)?;
            water_kg_h += through.water_kg_h.get();
        }
        if leakage.clamped {
            let message =
                "the surrounding air is colder or drier than the cellar's; that part is counted as zero, \
                 and a cellar in such air may need moisture or heat"
                    .to_owned();
            self.findings.push(Finding::caution(
                "cellar_load.surrounding_below_cellar",
                message,
                SOURCE,
            ));
        }
        Ok((Finite::new(changes, "air changes")?, water_kg_h))
    }

    fn add_exchange(&mut self, kind: LoadKind, name: &str, air: &AirExchange) -> Result<(), InputFault> {
        self.add(kind, name, air.sensible.watts().get(), air.latent.watts().get())
    }

    pub(super) fn add_gains(&mut self, input: &CellarLoadInput) -> Result<(), InputFault> {
        let lights_w = daily_average_w(&input.lights, "power of the lights", "hours of light")?;
        self.add(LoadKind::Lights, "lights", lights_w, 0.0)?;
        let people = &input.people;
        let count = within("people", people.count, (0.0, 1_000.0), "at a time")?;
        let hours = within("hours of people", people.hours_per_day, (0.0, 24.0), "h a day")?;
        let latent = within(
            "latent share of people",
            people.latent_share,
            (0.0, 1.0),
            "(fraction)",
        )?;
        let people_w = person_w(input.cellar_c) * count * hours / 24.0;
        self.add(
            LoadKind::People,
            "people",
            people_w * (1.0 - latent),
            people_w * latent,
        )?;
        let fans_w = daily_average_w(&input.fans, "power of the fans", "hours of the fans")?;
        self.add(LoadKind::Fans, "fans", fans_w, 0.0)
    }

    pub(super) fn add_bottles(
        &mut self,
        input: &CellarLoadInput,
    ) -> Result<Option<FirstFillHeat>, InputFault> {
        let intake_j = bottles_j(&input.intake, input.cellar_c)?;
        self.add(LoadKind::Intake, "bottles coming in", intake_j / 86_400.0, 0.0)?;
        let Some(fill) = &input.first_fill else {
            return Ok(None);
        };
        let over_h = within("time for the first fill", fill.over_h, (6.0, 720.0), "h")?;
        let heat_j = bottles_j(&fill.bottles, input.cellar_c)?;
        let average_w = heat_j / (over_h * 3_600.0);
        if fill.in_load {
            self.add(LoadKind::FirstFill, "first fill", average_w, 0.0)?;
        }
        Ok(Some(FirstFillHeat {
            heat_btu: Finite::new(heat_j / BTU_J, "heat of the first fill")?,
            average: HeatRate::from_watts(average_w, "heat of the first fill")?,
            in_load: fill.in_load,
        }))
    }

    /// A second look at the size of the answer.
    pub(super) fn review(&mut self, required: HeatRate, per_volume: Finite) {
        let (low, high) = USUAL_BTU_H_FT3;
        let found = per_volume.get();
        if required.btu_h().get() > 0.0 && (found < low || found > high) {
            let hint = if found > high {
                "single glass, leaks or a very small room do that"
            } else {
                "check areas, temperatures behind the faces and air exchange"
            };
            let message = format!(
                "the cellar asks for {found:.1} Btu/h per ft³; {low:.0} to {high:.0} is usual: {hint}"
            );
            self.findings.push(Finding::caution(
                "cellar_load.unusual_per_volume",
                message,
                COMMON_PRACTICE,
            ));
        }
    }
}

/// Heat of one person at light work, W: 272 − 6 t, t in °C (ASHRAE Handbook of Refrigeration, read
/// second-hand), for rooms of 5 to 20 °C.
fn person_w(cellar_c: f64) -> f64 {
    272.0 - 6.0 * cellar_c
}

fn daily_average_w(gain: &Gain, power: &'static str, hours: &'static str) -> Result<f64, InputFault> {
    let power_w = within(power, gain.power_w, (0.0, 1.0e6), "W")?;
    let hours = within(hours, gain.hours_per_day, (0.0, 24.0), "h a day")?;
    Ok(power_w * hours / 24.0)
}

/// Heat that bottles give off down to cellar temperature, J; none when they arrive colder.
fn bottles_j(bottles: &Bottles, cellar_c: f64) -> Result<f64, InputFault> {
    let count = within("bottles", bottles.count, (0.0, 1.0e6), "bottles")?;
    let arriving_c = within(
        "temperature of bottles on arrival",
        bottles.arriving_c,
        (-10.0, 60.0),
        "°C",
    )?;
    let heat_j_k = within("heat of a bottle", bottles.heat_j_k, (100.0, 50_000.0), "J/K")?;
    Ok((count * heat_j_k * (arriving_c - cellar_c)).max(0.0))
}
