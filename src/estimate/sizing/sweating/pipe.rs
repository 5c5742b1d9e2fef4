//! Insulation of a cold pipe, so thick that its surface stays above the dew point.

use super::film::Film;
use crate::sizing::air::{MoistAir, SEA_LEVEL_PA};
use crate::sizing::crossing::crossing;
use crate::sizing::finding::Finding;
use crate::sizing::finite::Finite;
use crate::sizing::heat_rate::{IN_M, fahrenheit};
use crate::sizing::range::{InputFault, within};

/// How the numbers were made.
pub const INSULATION_METHOD: &str = "steady radial heat balance of an insulated pipe; free convection after Churchill and Chu, wind after \
     Churchill and Bernstein, radiation; or one stated surface coefficient";
/// Where the method comes from.
pub const INSULATION_SOURCE: &str = "ASTM C680 type of calculation; Churchill and Chu, Int. J. Heat Mass Transfer 18 (1975) 1049; Churchill \
     and Bernstein, J. Heat Transfer 99 (1977) 300";

/// Wall thicknesses in which tube insulation is sold, in.
pub const STANDARD_THICKNESSES_IN: [f64; 8] = [0.25, 0.375, 0.5, 0.75, 1.0, 1.25, 1.5, 2.0];
/// No pipe is asked to carry more than this, m.
const THICKEST_M: f64 = 0.3;

/// A cold pipe in a room.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PipeInput {
    /// Outside diameter of the tube, in.
    pub tube_od_in: f64,
    /// Temperature of the tube, °C.
    pub line_c: f64,
    /// Temperature of the air around, °C.
    pub air_c: f64,
    /// Its relative humidity, fraction.
    pub air_rh: f64,
    /// Conductivity of the insulation, W/(m·K).
    pub conductivity_w_mk: f64,
    /// How the surface takes up heat.
    pub film: Film,
    /// How far above the dew point the surface must stay, K.
    pub margin_k: f64,
}

/// A pipe with a given insulation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PipeSurface {
    /// Surface of the insulation, °C.
    pub surface_c: Finite,
    /// Surface less dew point, K: the margin.
    pub above_dew_point_k: Finite,
    /// Heat that the pipe takes up, W per metre.
    pub heat_w_m: Finite,
    /// Heat per area of the surface, W/m².
    pub heat_w_m2: Finite,
    /// Coefficient at the surface, W/(m²·K).
    pub film_w_m2k: Finite,
}

/// The insulation that a pipe needs.
#[derive(Clone, Debug, PartialEq)]
pub struct InsulatedPipe {
    /// Dew point of the air around, °C.
    pub dew_point_c: Finite,
    /// Least thickness that keeps the surface at the dew point and the margin, m: zero when the bare tube does,
    /// none when not even 0.3 m would.
    pub least_thickness_m: Option<Finite>,
    /// The next thickness sold, in; none when the tube may stay bare or when none sold is enough.
    pub standard: Option<Finite>,
    /// What a person should know.
    pub findings: Vec<Finding>,
    /// How the numbers were made.
    pub method: &'static str,
    /// Where the method comes from.
    pub source: &'static str,
}

struct Checked {
    radius_m: f64,
    dew_c: f64,
    input: PipeInput,
}

impl PipeInput {
    fn checked(&self) -> Result<Checked, InputFault> {
        let od_m = within("diameter of the tube", self.tube_od_in, (0.1, 5.0), "in")? * IN_M;
        within("temperature of the line", self.line_c, (-40.0, 80.0), "°C")?;
        within(
            "conductivity of the insulation",
            self.conductivity_w_mk,
            (0.01, 0.2),
            "W/(m·K)",
        )?;
        within("margin above the dew point", self.margin_k, (0.0, 10.0), "K")?;
        self.film.checked()?;
        let air = MoistAir::from_relative_humidity(self.air_c, self.air_rh, SEA_LEVEL_PA)?;
        Ok(Checked {
            radius_m: od_m / 2.0,
            dew_c: air.dew_point_c()?.get(),
            input: *self,
        })
    }
}

/// Surface of a pipe under insulation of a given thickness (0.05 to 12 in).
///
/// # Errors
/// An input outside its range.
pub fn pipe_surface(pipe: &PipeInput, thickness_in: f64) -> Result<PipeSurface, InputFault> {
    let thickness_m = within("thickness of the insulation", thickness_in, (0.05, 12.0), "in")? * IN_M;
    pipe.checked()?.surface(thickness_m)
}

/// Least and next standard insulation of a pipe.
///
/// # Errors
/// An input outside its range.
pub fn insulate_pipe(pipe: &PipeInput) -> Result<InsulatedPipe, InputFault> {
    let checked = pipe.checked()?;
    let least_m = checked.least_thickness_m();
    let bare_is_dry = least_m == Some(0.0);
    let next = STANDARD_THICKNESSES_IN
        .into_iter()
        .find(|t| least_m.is_some_and(|least| t * IN_M >= least));
    let standard = match next {
        Some(thickness_in) if !bare_is_dry => Some(Finite::new(thickness_in, "standard thickness")?),
        _ => None,
    };
    let mut findings = Vec::new();
    if standard.is_none() && !bare_is_dry {
        findings.push(checked.none_sold_is_enough(least_m));
    }
    Ok(InsulatedPipe {
        dew_point_c: Finite::new(checked.dew_c, "dew point")?,
        least_thickness_m: least_m.map(|m| Finite::new(m, "least thickness")).transpose()?,
        standard,
        findings,
        method: INSULATION_METHOD,
        source: INSULATION_SOURCE,
    })
}

impl Checked {
    /// Heat that reaches the surface through the insulation, less what the air gives it, W per radian and metre;
    /// times the logarithm of the radii, so that a thin wall is no pole.
    fn imbalance(&self, surface_c: f64, radius_m: f64) -> f64 {
        let PipeInput {
            line_c,
            air_c,
            conductivity_w_mk,
            film,
            ..
        } = self.input;
        let to_pipe = conductivity_w_mk * (surface_c - line_c);
        let from_air = film.coefficient(surface_c, air_c, 2.0 * radius_m) * radius_m * (air_c - surface_c);
        to_pipe - from_air * (radius_m / self.radius_m).ln()
    }

    fn surface(&self, thickness_m: f64) -> Result<PipeSurface, InputFault> {
        let PipeInput {
            line_c, air_c, film, ..
        } = self.input;
        let radius_m = self.radius_m + thickness_m;
        let surface_c = crossing(line_c.min(air_c), line_c.max(air_c), 1e-7, |t| {
            self.imbalance(t, radius_m)
        });
        let film_w_m2k = film.coefficient(surface_c, air_c, 2.0 * radius_m);
        let heat_w_m2 = film_w_m2k * (air_c - surface_c);
        Ok(PipeSurface {
            surface_c: Finite::new(surface_c, "surface temperature")?,
            above_dew_point_k: Finite::new(surface_c - self.dew_c, "margin above the dew point")?,
            heat_w_m: Finite::new(
                heat_w_m2 * std::f64::consts::TAU * radius_m,
                "heat gain of the pipe",
            )?,
            heat_w_m2: Finite::new(heat_w_m2, "heat gain of the surface")?,
            film_w_m2k: Finite::new(film_w_m2k, "surface coefficient")?,
        })
    }

    /// The surface is held at the wanted temperature, so only the radius is sought.
    fn least_thickness_m(&self) -> Option<f64> {
        let wanted_c = self.dew_c + self.input.margin_k;
        if self.input.line_c >= wanted_c {
            return Some(0.0);
        }
        let imbalance = |thickness_m: f64| self.imbalance(wanted_c, self.radius_m + thickness_m);
        if wanted_c >= self.input.air_c || imbalance(THICKEST_M) > 0.0 {
            return None;
        }
        Some(crossing(1e-6, THICKEST_M, 1e-8, imbalance))
    }

    fn none_sold_is_enough(&self, least_m: Option<f64>) -> Finding {
        let thickest_in = STANDARD_THICKNESSES_IN.iter().fold(0.0_f64, |a, b| a.max(*b));
        let needed = match least_m {
            Some(m) => format!("{:.2} in would be needed", m / IN_M),
            None => format!("not even {:.0} in would do", THICKEST_M / IN_M),
        };
        let message = format!(
            "a line at {:.0} °F in air of {:.0} °F with a dew point of {:.1} °F: {needed}, {thickest_in:.0} in is the thickest sold. Dry \
             the air around the line or move it",
            fahrenheit(self.input.line_c),
            fahrenheit(self.input.air_c),
            fahrenheit(self.dew_c),
        );
        Finding::stop("sweating.line_too_cold", message, INSULATION_SOURCE)
    }
}
