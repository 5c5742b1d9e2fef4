//! Properties of refrigerants: saturation, suction gas, liquid, and the data of the charge screening.
//!
//! In: temperatures in °C, pressures in Pa. Out: SI properties from tables on a 1 K grid, interpolated
//! along straight lines. The tables are written by `make_tables.py` beside this file, which also names
//! the equations of state and the viscosity rules. Deliberately absent: any extrapolation.
//!
//! Interpolation error against the equations themselves: at most 0.025 % up to 60 °C and 0.06 % above.

mod concentration;
mod grid;
mod table_r134a;
mod table_r290;
mod table_r404a;
mod table_r448a;
mod table_r449a;
mod table_r513a;

use serde::{Deserialize, Serialize};

use super::finite::{Finite, NotFinite};
use super::range::{InputFault, within};

use grid::{Place, column, last_step};

pub use concentration::{Concentration, ConcentrationLimit};

/// How the numbers were made.
pub const METHOD: &str = "linear interpolation in 1 K tables of saturation and suction-gas properties; \
     blend viscosity by logarithmic (liquid) and Wilke (vapour) mixing";
/// Where the numbers come from.
pub const SOURCE: &str = "CoolProp 8.0.0 equations of state; Wilke, J. Chem. Phys. 18 (1950) 517";

/// Lowest saturation temperature of every table, °C.
const LOWEST_C: f64 = -30.0;
/// Highest dew temperature of the suction-gas tables, °C.
const HIGHEST_SUCTION_DEW_C: f64 = 30.0;
/// Step between the superheats of the suction-gas tables: 0 (the saturation table), 15 and 30 K.
const SUPERHEAT_STEP_K: f64 = 15.0;

/// Range of the suction-gas tables, K.
const SUPERHEAT_K: (f64, f64) = (0.0, 30.0);
/// Beyond this, taking subcooled liquid as saturated is too coarse, K.
const SUBCOOLING_K: (f64, f64) = (0.0, 20.0);

/// A refrigerant by its ASHRAE Standard 34 designation.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Refrigerant {
    /// R-134a.
    #[serde(rename = "R-134a")]
    R134a,
    /// R-513A: R-1234yf and R-134a, 56/44 by mass.
    #[serde(rename = "R-513A")]
    R513a,
    /// R-448A, R-1234yf, R-134a and R-1234ze(E), 26/26/20/21/7 by mass.
    #[serde(rename = "R-448A")]
    R448a,
    /// R-449A, R-1234yf and R-134a, 24.3/24.7/25.3/25.7 by mass.
    #[serde(rename = "R-449A")]
    R449a,
    /// R-404A: R-125, R-143a and R-134a, 44/52/4 by mass.
    #[serde(rename = "R-404A")]
    R404a,
    /// propane.
    #[serde(rename = "R-290")]
    R290,
    /// R-454C: R-32 and R-1234yf, 21.5/78.5 by mass. Concentration data only; it has no tables here.
    #[serde(rename = "R-454C")]
    R454c,
}

/// A property could not be told.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum PropertyError {
    /// This refrigerant is known by its concentration data only.
    #[error("{0} has no property tables here; take the property from the supplier's data")]
    NotTabulated(Refrigerant),
    /// The state lies outside the tables.
    #[error("{refrigerant}: {fault}")]
    OutsideTable {
        /// Whose table.
        refrigerant: Refrigerant,
        /// What was asked and what the table covers.
        fault: InputFault,
    },
    /// The interpolation gave no number.
    #[error(transparent)]
    NotFinite(#[from] NotFinite),
}

/// Both saturation lines at one temperature. For a blend they are at two pressures.
#[derive(Clone, Debug, PartialEq)]
pub struct Saturation {
    /// Temperature, °C.
    pub t_c: Finite,
    /// Pressure of boiling liquid (bubble line), Pa absolute.
    pub bubble_pressure_pa: Finite,
    /// Pressure of condensing vapour (dew line), Pa absolute.
    pub dew_pressure_pa: Finite,
    /// Liquid on the bubble line, kg/m³.
    pub liquid_density_kg_m3: Finite,
    /// Vapour on the dew line, kg/m³.
    pub vapour_density_kg_m3: Finite,
    /// Liquid on the bubble line, J/kg; only differences have a meaning.
    pub liquid_enthalpy_j_kg: Finite,
    /// Vapour on the dew line, J/kg; only differences have a meaning.
    pub vapour_enthalpy_j_kg: Finite,
    /// Vapour less liquid enthalpy at this temperature, J/kg.
    pub latent_heat_j_kg: Finite,
    /// Liquid on the bubble line, Pa·s.
    pub liquid_viscosity_pa_s: Finite,
    /// Vapour on the dew line, Pa·s.
    pub vapour_viscosity_pa_s: Finite,
    /// Rise of the bubble temperature per rise of pressure, K/Pa.
    pub bubble_dt_dp_k_pa: Finite,
    /// Rise of the dew temperature per rise of pressure, K/Pa.
    pub dew_dt_dp_k_pa: Finite,
}

/// Superheated gas in the suction line.
#[derive(Clone, Debug, PartialEq)]
pub struct SuctionGas {
    /// Pressure on the dew line, Pa absolute.
    pub pressure_pa: Finite,
    /// kg/m³.
    pub density_kg_m3: Finite,
    /// Pa·s.
    pub viscosity_pa_s: Finite,
    /// J/kg, on the same zero as [`Saturation`].
    pub enthalpy_j_kg: Finite,
}

/// Subcooled liquid in the liquid line.
#[derive(Clone, Debug, PartialEq)]
pub struct LiquidState {
    /// Pressure on the bubble line at the condensing temperature, Pa absolute.
    pub pressure_pa: Finite,
    /// kg/m³.
    pub density_kg_m3: Finite,
    /// Pa·s.
    pub viscosity_pa_s: Finite,
    /// J/kg, on the same zero as [`Saturation`].
    pub enthalpy_j_kg: Finite,
}

struct Tables {
    saturation: &'static [[f64; 8]],
    suction: &'static [[f64; 6]],
}

impl Refrigerant {
    /// Every refrigerant that is known here.
    pub const ALL: [Refrigerant; 7] = [
        Refrigerant::R134a,
        Refrigerant::R513a,
        Refrigerant::R448a,
        Refrigerant::R449a,
        Refrigerant::R404a,
        Refrigerant::R290,
        Refrigerant::R454c,
    ];

    /// The designation, as `R-134a`.
    #[must_use]
    pub const fn designation(self) -> &'static str {
        match self {
            Refrigerant::R134a => "R-134a",
            Refrigerant::R513a => "R-513A",
            Refrigerant::R448a => "R-448A",
            Refrigerant::R449a => "R-449A",
            Refrigerant::R404a => "R-404A",
            Refrigerant::R290 => "R-290",
            Refrigerant::R454c => "R-454C",
        }
    }

    fn tables(self) -> Result<Tables, PropertyError> {
        let (saturation, suction): (&'static [_], &'static [_]) = match self {
            Refrigerant::R134a => (&table_r134a::SATURATION, &table_r134a::SUCTION),
            Refrigerant::R513a => (&table_r513a::SATURATION, &table_r513a::SUCTION),
            Refrigerant::R448a => (&table_r448a::SATURATION, &table_r448a::SUCTION),
            Refrigerant::R449a => (&table_r449a::SATURATION, &table_r449a::SUCTION),
            Refrigerant::R404a => (&table_r404a::SATURATION, &table_r404a::SUCTION),
            Refrigerant::R290 => (&table_r290::SATURATION, &table_r290::SUCTION),
            Refrigerant::R454c => return Err(PropertyError::NotTabulated(self)),
        };
        Ok(Tables { saturation, suction })
    }

    /// Lowest and highest saturation temperature of the tables, °C.
    ///
    /// # Errors
    /// [`PropertyError::NotTabulated`].
    pub fn saturation_range_c(self) -> Result<(f64, f64), PropertyError> {
        let rows = self.tables()?.saturation.len();
        Ok((LOWEST_C, LOWEST_C + last_step(rows)))
    }

    /// Both saturation lines at a temperature of −30 °C up to 62 to 70 °C (see [`Self::saturation_range_c`]).
    ///
    /// # Errors
    /// Outside the table, or no table at all.
    pub fn saturation(self, t_c: f64) -> Result<Saturation, PropertyError> {
        let table = self.tables()?.saturation;
        let t_c = self.check_saturation_temperature(t_c, "saturation temperature")?;
        let at = Place::of(t_c - LOWEST_C, table.len());
        let row = at.row(table);
        let dew_dt_dp = 1.0 / at.slope(table, column::DEW_P);
        let bubble_dt_dp = 1.0 / at.slope(table, column::BUBBLE_P);
        let latent = row[column::VAPOUR_ENTHALPY] - row[column::LIQUID_ENTHALPY];
        Ok(Saturation {
            t_c: Finite::new(t_c, "saturation temperature")?,
            bubble_pressure_pa: Finite::new(row[column::BUBBLE_P], "bubble pressure")?,
            dew_pressure_pa: Finite::new(row[column::DEW_P], "dew pressure")?,
            liquid_density_kg_m3: Finite::new(row[column::LIQUID_DENSITY], "liquid density")?,
            vapour_density_kg_m3: Finite::new(row[column::VAPOUR_DENSITY], "vapour density")?,
            liquid_enthalpy_j_kg: Finite::new(row[column::LIQUID_ENTHALPY], "liquid enthalpy")?,
            vapour_enthalpy_j_kg: Finite::new(row[column::VAPOUR_ENTHALPY], "vapour enthalpy")?,
            latent_heat_j_kg: Finite::new(latent, "latent heat")?,
            liquid_viscosity_pa_s: Finite::new(row[column::LIQUID_VISCOSITY], "liquid viscosity")?,
            vapour_viscosity_pa_s: Finite::new(row[column::VAPOUR_VISCOSITY], "vapour viscosity")?,
            bubble_dt_dp_k_pa: Finite::new(bubble_dt_dp, "slope of the bubble line")?,
            dew_dt_dp_k_pa: Finite::new(dew_dt_dp, "slope of the dew line")?,
        })
    }

    /// Gas at the dew pressure of `t_dew_c` (−30 to 30 °C), warmer by `superheat_k` (0 to 30 K).
    ///
    /// A parabola through 0, 15 and 30 K of superheat. Against the equations of state: density within
    /// 0.15 % (R-404A 0.25 %), enthalpy within 0.07 % of the latent heat, viscosity within 0.04 %; the
    /// mixing rule adds an uncertainty of about 1 % to the viscosity of a blend.
    ///
    /// # Errors
    /// Outside the table, or no table at all.
    pub fn suction_gas(self, t_dew_c: f64, superheat_k: f64) -> Result<SuctionGas, PropertyError> {
        let tables = self.tables()?;
        let t_dew_c = self.check(
            "dew temperature of suction gas",
            t_dew_c,
            (LOWEST_C, HIGHEST_SUCTION_DEW_C),
            "°C",
        )?;
        let superheat_k = self.check("suction superheat", superheat_k, SUPERHEAT_K, "K")?;
        let dry = Place::of(t_dew_c - LOWEST_C, tables.saturation.len()).row(tables.saturation);
        let warm = Place::of(t_dew_c - LOWEST_C, tables.suction.len()).row(tables.suction);
        let x = superheat_k / SUPERHEAT_STEP_K;
        let through = |at_0: f64, at_1: f64, at_2: f64| {
            at_0 * (x - 1.0) * (x - 2.0) / 2.0 - at_1 * x * (x - 2.0) + at_2 * x * (x - 1.0) / 2.0
        };
        let [
            density_15,
            enthalpy_15,
            viscosity_15,
            density_30,
            enthalpy_30,
            viscosity_30,
        ] = warm;
        let density = through(dry[column::VAPOUR_DENSITY], density_15, density_30);
        let enthalpy = through(dry[column::VAPOUR_ENTHALPY], enthalpy_15, enthalpy_30);
        let viscosity = through(dry[column::VAPOUR_VISCOSITY], viscosity_15, viscosity_30);
        Ok(SuctionGas {
            pressure_pa: Finite::new(dry[column::DEW_P], "suction pressure")?,
            density_kg_m3: Finite::new(density, "suction gas density")?,
            viscosity_pa_s: Finite::new(viscosity, "suction gas viscosity")?,
            enthalpy_j_kg: Finite::new(enthalpy, "suction gas enthalpy")?,
        })
    }

    /// Liquid at the bubble pressure of `t_bubble_c`, colder by `subcooling_k` (0 to 20 K).
    ///
    /// Taken as saturated liquid of its own temperature: the pressure above saturation is left out. Up to
    /// 8 K subcooling and 50 °C that makes the density low by less than 0.6 % (R-404A 0.9 %), the viscosity
    /// by less than 1 % (R-404A 2.1 %) and the enthalpy wrong by less than 0.3 % of the latent heat (R-404A
    /// 0.5 %); at 20 K and 60 °C about twice that.
    ///
    /// # Errors
    /// Outside the table (both temperatures count), or no table at all.
    pub fn liquid(self, t_bubble_c: f64, subcooling_k: f64) -> Result<LiquidState, PropertyError> {
        let table = self.tables()?.saturation;
        let t_bubble_c = self.check_saturation_temperature(t_bubble_c, "condensing temperature")?;
        let subcooling_k = self.check("liquid subcooling", subcooling_k, SUBCOOLING_K, "K")?;
        let t_c = self.check_saturation_temperature(t_bubble_c - subcooling_k, "liquid temperature")?;
        let at_pressure = Place::of(t_bubble_c - LOWEST_C, table.len()).row(table);
        let row = Place::of(t_c - LOWEST_C, table.len()).row(table);
        Ok(LiquidState {
            pressure_pa: Finite::new(at_pressure[column::BUBBLE_P], "liquid pressure")?,
            density_kg_m3: Finite::new(row[column::LIQUID_DENSITY], "liquid density")?,
            viscosity_pa_s: Finite::new(row[column::LIQUID_VISCOSITY], "liquid viscosity")?,
            enthalpy_j_kg: Finite::new(row[column::LIQUID_ENTHALPY], "liquid enthalpy")?,
        })
    }

    /// Temperature in °C at which vapour of this pressure (Pa absolute) begins to condense.
    ///
    /// # Errors
    /// Outside the table, or no table at all.
    pub fn saturation_temperature_dew(self, p_pa: f64) -> Result<Finite, PropertyError> {
        self.temperature_at(p_pa, column::DEW_P, "dew pressure")
    }

    /// Temperature in °C at which liquid of this pressure (Pa absolute) begins to boil.
    ///
    /// # Errors
    /// Outside the table, or no table at all.
    pub fn saturation_temperature_bubble(self, p_pa: f64) -> Result<Finite, PropertyError> {
        self.temperature_at(p_pa, column::BUBBLE_P, "bubble pressure")
    }

    fn temperature_at(self, p_pa: f64, column: usize, what: &'static str) -> Result<Finite, PropertyError> {
        let table = self.tables()?.saturation;
        let (low, high) = match table {
            [first, .., last] => (first[column], last[column]),
            _ => return Err(PropertyError::NotTabulated(self)),
        };
        let p_pa = self.check(what, p_pa, (low, high), "Pa")?;
        let above = table.partition_point(|row| row[column] <= p_pa);
        let mut t_c = LOWEST_C;
        if let Some([a, b]) = table.get(above.saturating_sub(1)..=above) {
            t_c += above.saturating_sub(1) as f64 + (p_pa - a[column]) / (b[column] - a[column]);
        } else {
            t_c += last_step(table.len());
        }
        Ok(Finite::new(t_c, what)?)
    }

    fn check_saturation_temperature(self, t_c: f64, what: &'static str) -> Result<f64, PropertyError> {
        self.check(what, t_c, self.saturation_range_c()?, "°C")
    }

    fn check(
        self,
        what: &'static str,
        value: f64,
        range: (f64, f64),
        unit: &'static str,
    ) -> Result<f64, PropertyError> {
        within(what, value, range, unit).map_err(|fault| PropertyError::OutsideTable {
            refrigerant: self,
            fault,
        })
    }
}

/// A text that is no designation known here.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{0:?} is no refrigerant known here; write its ASHRAE Standard 34 designation, as R-513A")]
pub struct UnknownRefrigerant(pub String);

impl std::str::FromStr for Refrigerant {
    type Err = UnknownRefrigerant;

    /// Reads a designation as [`Refrigerant::designation`] writes it.
    fn from_str(text: &str) -> Result<Self, UnknownRefrigerant> {
        let known = Refrigerant::ALL
            .into_iter()
            .find(|fluid| fluid.designation() == text);
        known.ok_or_else(|| UnknownRefrigerant(text.to_owned()))
    }
}

impl std::fmt::Display for Refrigerant {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.designation())
    }
}
