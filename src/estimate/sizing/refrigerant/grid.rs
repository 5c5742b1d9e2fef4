//! Look-up in tables with one row per kelvin.

/// Columns of a saturation row, as `make_tables.py` writes them.
pub(super) mod column {
    pub const BUBBLE_P: usize = 0;
    pub const LIQUID_DENSITY: usize = 1;
    pub const LIQUID_ENTHALPY: usize = 2;
    pub const LIQUID_VISCOSITY: usize = 3;
    pub const DEW_P: usize = 4;
    pub const VAPOUR_DENSITY: usize = 5;
    pub const VAPOUR_ENTHALPY: usize = 6;
    pub const VAPOUR_VISCOSITY: usize = 7;
}

/// Steps of 1 K from the first row to the last.
pub(super) fn last_step(rows: usize) -> f64 {
    rows.saturating_sub(1) as f64
}

/// A place between two rows of a table: `share` of the way from row `lower` to the next.
pub(super) struct Place {
    lower: usize,
    share: f64,
}

impl Place {
    /// `steps` from the first row; the callers have checked it to lie on the table.
    pub(super) fn of(steps: f64, rows: usize) -> Self {
        let lower = steps.floor().clamp(0.0, (last_step(rows) - 1.0).max(0.0));
        Place {
            lower: lower as usize,
            share: steps - lower,
        }
    }

    pub(super) fn row<const N: usize>(&self, table: &[[f64; N]]) -> [f64; N] {
        let Some([a, b]) = table.get(self.lower..=self.lower + 1) else {
            return [f64::NAN; N];
        };
        std::array::from_fn(|i| a[i] + (b[i] - a[i]) * self.share)
    }

    /// Change per 1 K: central differences of the rows, interpolated; one-sided at the ends.
    pub(super) fn slope<const N: usize>(&self, table: &[[f64; N]], column: usize) -> f64 {
        let at = |row: usize| {
            let low = row.saturating_sub(1);
            let high = (row + 1).min(table.len().saturating_sub(1));
            match (table.get(low), table.get(high)) {
                (Some(a), Some(b)) => (b[column] - a[column]) / (high - low) as f64,
                _ => f64::NAN,
            }
        };
        at(self.lower) * (1.0 - self.share) + at(self.lower + 1) * self.share
    }
}
