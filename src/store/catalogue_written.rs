//! The rows of prices, rates, policies and settings as the audit puts them down, and what is stored held against that.

use diesel::prelude::*;

use super::accounting::SettingsRow;
use super::catalogue::{PriceRow, RateRow};
use super::connection::Conn;
use super::house_styles::StyleRow;
use super::policies::PolicyRow;
use super::schema::{accounting_settings, house_styles, item_prices, labour_rates, policies};
use super::written::{Others, Rows, held};
use super::{Store, StoreFault};

/// The kinds of things whose rows are only ever added to.
pub(super) const KINDS: [&str; 5] = [
    "items",
    "labour-classes",
    "policies",
    "house-styles",
    "accounting-settings",
];

pub(super) fn price(all: &mut Rows, row: &PriceRow) -> Result<(), StoreFault> {
    all.add("item_prices", price_key(row), row)
}

pub(super) fn price_key(row: &PriceRow) -> String {
    format!("{}/{}/{}", row.item_code, row.pack_size, row.valid_from)
}

pub(super) fn rate(all: &mut Rows, row: &RateRow) -> Result<(), StoreFault> {
    all.add("labour_rates", rate_key(row), row)
}

pub(super) fn rate_key(row: &RateRow) -> String {
    format!("{}/{}", row.labour_class, row.valid_from)
}

pub(super) fn policy(all: &mut Rows, row: &PolicyRow) -> Result<(), StoreFault> {
    all.add("policies", policy_key(row), row)
}

pub(super) fn policy_key(row: &PolicyRow) -> String {
    format!("{}/{}", row.id, row.version)
}

pub(super) fn style(all: &mut Rows, row: &StyleRow) -> Result<(), StoreFault> {
    all.add("house_styles", style_key(row), row)
}

pub(super) fn style_key(row: &StyleRow) -> String {
    format!("{}/{}", row.id, row.version)
}

pub(super) fn settings(all: &mut Rows, row: &SettingsRow) -> Result<(), StoreFault> {
    all.add("accounting_settings", row.version, row)
}

/// What one of these puts down.
pub(super) fn one<T>(
    put: impl FnOnce(&mut Rows, &T) -> Result<(), StoreFault>,
    row: &T,
) -> Result<Rows, StoreFault> {
    let mut rows = Rows::default();
    put(&mut rows, row)?;
    Ok(rows)
}

/// Every row that is stored of a thing.
fn stored(conn: &mut Conn, kind: &str, key: &str) -> Result<Rows, StoreFault> {
    macro_rules! rows {
        ($table:ident . $column:ident, $key:expr, $row:ty, $put:ident) => {{
            let found = $table::table.filter($table::$column.eq($key));
            let found: Vec<$row> = found.select(<$row>::as_select()).load(conn)?;
            let mut all = Rows::default();
            found.iter().try_for_each(|row| $put(&mut all, row))?;
            Ok(all)
        }};
    }
    match kind {
        "items" => rows!(item_prices.item_code, key, PriceRow, price),
        "labour-classes" => rows!(labour_rates.labour_class, key, RateRow, rate),
        "policies" => rows!(policies.id, key, PolicyRow, policy),
        "house-styles" => rows!(house_styles.id, key, StyleRow, style),
        _ => {
            let version: i32 = key
                .parse()
                .map_err(|fault| StoreFault::corrupt("audit_entries", key, fault))?;
            rows!(accounting_settings.version, version, SettingsRow, settings)
        }
    }
}

impl Store {
    /// Everything in which prices, rates, policies, house styles and the ledger's settings are not what the audit says
    /// was written one by one.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn catalogue_unlike_written(&self) -> Result<Vec<String>, StoreFault> {
        self.in_each(&KINDS, |conn, kind, keys| {
            let mut faults = Vec::new();
            for key in keys {
                let stored = stored(conn, kind, key)?;
                faults.extend(held(conn, &format!("{kind}/{key}"), stored, Others::LeftAlone)?);
            }
            Ok(faults)
        })
    }
}
