//! Friction of a fluid that fills a round tube.

/// Absolute roughness of drawn tube, m. Source: the usual handbook figure for drawn tubing,
/// 0.0015 mm (L. F. Moody, Trans. ASME 66, 1944).
pub const DRAWN_TUBE_ROUGHNESS_M: f64 = 1.5e-6;

/// Above this Reynolds number the flow is taken as turbulent. Between about 2,000 and 4,000 it may be
/// either; turbulent friction is the greater there, so the step is on the safe side.
const TURBULENT_FROM: f64 = 2_000.0;

/// Source of the friction factor.
pub const FRICTION_SOURCE: &str =
    "Darcy–Weisbach with C. F. Colebrook, J. Inst. Civ. Eng. 11 (1939); laminar 64/Re below Re 2,000";

/// A fluid on its way through a tube.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TubeFlow {
    /// Inner diameter, m.
    pub inner_diameter_m: f64,
    /// Mass flow, kg/s.
    pub mass_flow_kg_s: f64,
    /// Density, kg/m³.
    pub density_kg_m3: f64,
    /// Dynamic viscosity, Pa s.
    pub viscosity_pa_s: f64,
}

impl TubeFlow {
    /// Mean velocity, m/s.
    #[must_use]
    pub fn velocity_m_s(&self) -> f64 {
        let bore_m2 = std::f64::consts::FRAC_PI_4 * self.inner_diameter_m * self.inner_diameter_m;
        self.mass_flow_kg_s / (self.density_kg_m3 * bore_m2)
    }

    /// Reynolds number.
    #[must_use]
    pub fn reynolds(&self) -> f64 {
        self.density_kg_m3 * self.velocity_m_s() * self.inner_diameter_m / self.viscosity_pa_s
    }

    /// Friction loss, Pa per metre of straight tube; zero at no flow.
    #[must_use]
    pub fn loss_pa_per_m(&self) -> f64 {
        if self.mass_flow_kg_s <= 0.0 {
            return 0.0;
        }
        let velocity = self.velocity_m_s();
        let friction = friction_factor(self.reynolds(), DRAWN_TUBE_ROUGHNESS_M / self.inner_diameter_m);
        friction / self.inner_diameter_m * self.density_kg_m3 * velocity * velocity / 2.0
    }
}

/// Darcy friction factor at a Reynolds number above zero and a relative roughness up to 0.05.
///
/// Colebrook's implicit formula 1/√f = −2 log₁₀(ε/3.7 + 2.51/(Re √f)) by Newton's method from
/// Haaland's explicit one; three steps leave less than one part in a million.
#[must_use]
pub fn friction_factor(reynolds: f64, relative_roughness: f64) -> f64 {
    if reynolds < TURBULENT_FROM {
        return 64.0 / reynolds;
    }
    let rough = relative_roughness / 3.7;
    let smooth = 2.51 / reynolds;
    let mut x = -1.8 * (rough.powf(1.11) + 6.9 / reynolds).log10();
    for _ in 0..3 {
        let inner = rough + smooth * x;
        let slope = 1.0 + 2.0 * smooth / (std::f64::consts::LN_10 * inner);
        x -= (x + 2.0 * inner.log10()) / slope;
    }
    1.0 / (x * x)
}
