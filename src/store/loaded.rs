//! The rows of seed data and price lists as the audit puts them down, each table of them together, and what is stored held
//! against that.

use std::collections::{BTreeMap, BTreeSet};

use diesel::prelude::*;

use super::catalogue::{PriceRow, RateRow};
use super::catalogue_written::{KINDS, policy_key, price_key, rate_key, style_key};
use super::connection::Conn;
use super::house_styles::StyleRow;
use super::policies::PolicyRow;
use super::schema::{
    accounting_settings, audit_entries, catalogue_state, equipment, house_styles, item_prices, items,
    labour_rates, policies, price_list_rows,
};
use super::written::{Rows, Together, said};
use super::{SettingsRow, Store, StoreFault, price_lists};

/// The kinds of things that put many rows in.
const SEED: &str = "seed-data";
const LIST: &str = "price-lists";
/// Under which key all rows of a table stand that seed data put in.
const ALL: &str = "*";

/// Rows by table and key.
type Named = BTreeSet<(String, String)>;

/// All items without their prices. Seed data and lists with new items or packs write them, and the last of those counts.
pub(super) fn items(conn: &mut Conn) -> Result<Together, StoreFault> {
    let mut rows: Vec<(String, i32, String)> = items::table
        .select((items::code, items::position, items::body))
        .load(conn)?;
    rows.sort_unstable_by(|(one, ..), (other, ..)| one.cmp(other));
    let mut all = Together::new("items", ALL);
    rows.iter().try_for_each(|row| all.take(row))?;
    Ok(all)
}

/// What seed data has put into an empty database.
pub(super) fn of_seed(conn: &mut Conn) -> Result<Rows, StoreFault> {
    seeded(conn, &Named::new())
}

/// Every row that was neither written by itself, which `named` says, nor by a price list.
fn seeded(conn: &mut Conn, named: &Named) -> Result<Rows, StoreFault> {
    let mut all = Rows::default();
    macro_rules! rest {
        ($table:ident, $rows:expr, $key:expr) => {{
            let table = stringify!($table);
            let rows = $rows.into_iter().map(|row| ($key(&row), row));
            let mut rows: Vec<_> = rows
                .filter(|(key, _)| !named.contains(&(table.to_owned(), key.clone())))
                .collect();
            rows.sort_by(|(one, _), (other, _)| one.cmp(other));
            let mut together = Together::new(table, ALL);
            rows.iter().try_for_each(|(_, row)| together.take(row))?;
            all.add_together(together);
        }};
    }
    let state = catalogue_state::table.select(catalogue_state::seed);
    all.add("catalogue_state", "seed", &state.first::<Option<String>>(conn)?)?;
    all.add_together(items(conn)?);
    let in_list = price_list_rows::item_code
        .eq(item_prices::item_code)
        .and(price_list_rows::pack_size.eq(item_prices::pack_size))
        .and(price_list_rows::valid_from.eq(item_prices::valid_from));
    let prices: Vec<PriceRow> = item_prices::table
        .left_join(price_list_rows::table.on(in_list))
        .filter(price_list_rows::price_list.nullable().is_null())
        .select(PriceRow::as_select())
        .load(conn)?;
    rest!(item_prices, prices, price_key);
    let rates: Vec<RateRow> = labour_rates::table.select(RateRow::as_select()).load(conn)?;
    rest!(labour_rates, rates, rate_key);
    let policies: Vec<PolicyRow> = policies::table.select(PolicyRow::as_select()).load(conn)?;
    rest!(policies, policies, policy_key);
    let styles: Vec<StyleRow> = house_styles::table.select(StyleRow::as_select()).load(conn)?;
    rest!(house_styles, styles, style_key);
    let settings: Vec<SettingsRow> = accounting_settings::table
        .select(SettingsRow::as_select())
        .load(conn)?;
    rest!(accounting_settings, settings, |row: &SettingsRow| row
        .version
        .to_string());
    let units: Vec<(String, i32, String)> = equipment::table
        .select((equipment::class, equipment::position, equipment::body))
        .load(conn)?;
    rest!(equipment, units, |(class, ..): &(String, i32, String)| class
        .clone());
    Ok(all)
}

/// An entry that says what it wrote.
struct Entry {
    number: i64,
    subject: String,
    after: Option<String>,
    written: String,
}

/// The entries of a kind that say what they wrote, in their order.
fn entries(conn: &mut Conn, kind: &str) -> Result<Vec<Entry>, StoreFault> {
    type Row = (i64, String, Option<String>, Option<String>);
    let found: Vec<Row> = audit_entries::table
        .filter(audit_entries::subject.gt(format!("{kind}/")))
        .filter(audit_entries::subject.lt(format!("{kind}0")))
        .filter(audit_entries::written.is_not_null())
        .order(audit_entries::sequence)
        .select((
            audit_entries::sequence,
            audit_entries::subject,
            audit_entries::after,
            audit_entries::written,
        ))
        .load(conn)?;
    let entry = |(number, subject, after, written): Row| {
        Some(Entry {
            number,
            subject,
            after,
            written: written?,
        })
    };
    Ok(found.into_iter().filter_map(entry).collect())
}

/// The rows of the catalogue that were written one by one.
fn written_by_themselves(conn: &mut Conn) -> Result<Named, StoreFault> {
    let mut named = Named::new();
    for kind in KINDS {
        for entry in entries(conn, kind)? {
            // What it says wrongly is told where the thing itself is looked at.
            let rows = said(entry.number, entry.after.as_deref(), &entry.written).unwrap_or_default();
            named.extend(rows.into_iter().map(|(table, key, _)| (table, key)));
        }
    }
    Ok(named)
}

/// What the entries of seed data and price lists say together.
#[derive(Default)]
struct Said {
    /// Each row, or rows together, with the last entry that wrote them and their digest.
    rows: BTreeMap<(String, String), (i64, String)>,
    /// Whether that of seed data says what it wrote, and so does every list that there is.
    from_the_beginning: bool,
    /// The numbers of the lists that say it.
    lists: BTreeSet<i32>,
    faults: Vec<String>,
}

impl Said {
    fn of(conn: &mut Conn) -> Result<Self, StoreFault> {
        let (seeds, lists) = (entries(conn, SEED)?, entries(conn, LIST)?);
        let mut all = Self {
            from_the_beginning: !seeds.is_empty(),
            ..Self::default()
        };
        for entry in seeds.iter().chain(&lists) {
            let number = entry
                .subject
                .strip_prefix(LIST)
                .and_then(|rest| rest.strip_prefix('/'));
            all.lists
                .extend(number.and_then(|number| number.parse::<i32>().ok()));
            match said(entry.number, entry.after.as_deref(), &entry.written) {
                Ok(rows) => all.rows.extend(
                    rows.into_iter()
                        .map(|(table, key, digest)| ((table, key), (entry.number, digest))),
                ),
                Err(fault) => all.faults.push(fault),
            }
        }
        Ok(all)
    }

    /// Holds what is stored against it, and takes out what was looked at.
    fn hold(&mut self, stored: &Rows, is_meant: impl Fn(&str, &str) -> bool) {
        let rows = std::mem::take(&mut self.rows).into_iter();
        let (looked_at, rest): (BTreeMap<_, _>, _) = rows.partition(|((table, key), _)| is_meant(table, key));
        self.rows = rest;
        for ((table, key), (number, digest)) in looked_at {
            let now = stored.digest_of(&table, &key);
            if now == Some(digest.as_str()) {
                continue;
            }
            let one = format!("the row {key} of {table}");
            self.faults.push(match now {
                _ if key.ends_with(ALL) => {
                    format!(
                        "rows of {table}, taken together ({key}), are not what audit entry {number} wrote"
                    )
                }
                Some(_) => format!("{one} is not what audit entry {number} wrote"),
                None => format!("{one}, which audit entry {number} wrote, is missing"),
            });
        }
    }
}

impl Store {
    /// Everything in which the rows of seed data and price lists are not what the audit says was written. Entries of
    /// earlier programs do not say it.
    ///
    /// # Errors
    /// The database does not answer.
    pub fn loaded_unlike_written(&self) -> Result<Vec<String>, StoreFault> {
        self.read(|conn| {
            let mut said = Said::of(conn)?;
            let first = said.lists.first().copied().filter(|_| !said.from_the_beginning);
            for number in price_lists::numbers(conn)? {
                let is_said = said.lists.contains(&number);
                if !is_said && (said.from_the_beginning || first.is_some_and(|first| first < number)) {
                    said.faults.push(format!(
                        "the row {number} of price_lists was written by no audit entry"
                    ));
                }
            }
            for number in said.lists.clone() {
                let stored = price_lists::stored(conn, number)?;
                let (one, all) = (number.to_string(), format!("{number}/{ALL}"));
                said.hold(&stored, |_, key| key == one || key == all);
            }
            if said.from_the_beginning {
                let named = written_by_themselves(conn)?;
                let stored = seeded(conn, &named)?;
                said.hold(&stored, |_, _| true);
            } else if !said.rows.is_empty() {
                let mut stored = Rows::default();
                stored.add_together(items(conn)?);
                said.hold(&stored, |_, _| true);
            }
            Ok(said.faults)
        })
    }
}
