//! The whole of what the office knows, written once and read at a stroke.

use diesel::prelude::*;
use estimate::catalogue::item::Price;
use estimate::catalogue::labour::LabourRate;
use estimate::catalogue::{Company, Equipment, Item, LabourClass};
use estimate::quantity::decimal;
use serde::Serialize;
use serde::de::DeserializeOwned;

use super::audit::{Change, Written};
use super::catalogue::{self, PriceRow, RateRow};
use super::connection::{Conn, each};
use super::house_styles::{self, StoredStyle};
use super::policies::{self, StoredPolicy};
use super::rulebooks::{self, RulebookShelf, StoredRulebook};
use super::schema;
use super::{SettingsRow, Store, StoreFault, loaded};

/// What the office knows, with the versions that hold now.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OfficeData {
    /// The company.
    pub company: Company,
    /// What it buys, with every dated price, in its own order.
    pub items: Vec<Item>,
    /// Who works for it, with every dated rate, in its own order.
    pub labour: Vec<LabourClass>,
    /// The units that it installs.
    pub equipment: Vec<Equipment>,
    /// Its policies, every version.
    pub policies: Vec<StoredPolicy>,
    /// Its published rulebooks, without their texts.
    pub rulebooks: RulebookShelf,
}

/// What seed data may say beside what the office knows.
#[derive(Debug, Clone, Copy, Default)]
pub struct Own<'a> {
    /// How papers look.
    pub house_style: Option<&'a StoredStyle>,
    /// What the ledger calls things.
    pub ledger: Option<&'a SettingsRow>,
}

/// What became of seed data that was to be loaded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Loaded {
    /// It was put into an empty database.
    Now,
    /// The same seed data had been loaded before; nothing was changed.
    Before,
}

#[derive(Insertable)]
#[diesel(table_name = schema::items)]
pub(super) struct NewItem<'a> {
    pub(super) code: &'a str,
    pub(super) position: i32,
    pub(super) body: String,
}

#[derive(Insertable)]
#[diesel(table_name = schema::labour_classes)]
pub(super) struct NewLabourClass<'a> {
    pub(super) code: &'a str,
    pub(super) position: i32,
    pub(super) body: String,
}

#[derive(Insertable)]
#[diesel(table_name = schema::equipment)]
struct NewEquipment<'a> {
    class: &'a str,
    position: i32,
    body: String,
}

impl Store {
    /// Everything the office knows, with the revision that it is of; `None` when nothing has been loaded.
    ///
    /// # Errors
    /// The database does not answer, or a row holds what cannot be read.
    pub fn office(&self) -> Result<Option<(i64, OfficeData)>, StoreFault> {
        self.read(|conn| {
            let revision = catalogue::revision(conn)?;
            let Some(company) = schema::company::table
                .select(schema::company::body)
                .first::<String>(conn)
                .optional()?
            else {
                return Ok(None);
            };
            let data = OfficeData {
                company: parse("company", "1", &company)?,
                items: read_items(conn)?,
                labour: read_labour(conn)?,
                equipment: read_equipment(conn)?,
                policies: policies::read(conn)?,
                rulebooks: rulebooks::read(conn)?,
            };
            Ok(Some((revision, data)))
        })
    }

    /// Puts `data`, the texts of its rulebooks and its own settings into an empty database in one transaction. `digest` names
    /// the seed data: the same again is told as such.
    ///
    /// # Errors
    /// [`StoreFault::Exists`] when the database holds other data; else what the database says.
    pub fn load(
        &self,
        data: &OfficeData,
        texts: &[StoredRulebook],
        own: Own<'_>,
        digest: &str,
    ) -> Result<Loaded, StoreFault> {
        self.write(|conn| {
            catalogue::move_revision(conn)?;
            let state = schema::catalogue_state::table.select(schema::catalogue_state::seed);
            match state.first::<Option<String>>(conn)? {
                Some(before) if before == digest => return Ok(Written::nothing(Loaded::Before)),
                Some(_) => return Err(StoreFault::Exists),
                None => {}
            }
            if schema::company::table.count().get_result::<i64>(conn)? > 0 {
                return Err(StoreFault::Exists);
            }
            insert_all(conn, data)?;
            texts
                .iter()
                .try_for_each(|rulebook| rulebooks::insert(conn, rulebook))?;
            let calendar = &data.rulebooks.calendar;
            calendar.iter().try_for_each(|row| rulebooks::enter(conn, row))?;
            if let Some(style) = own.house_style {
                house_styles::insert(conn, style)?;
            }
            if let Some(settings) = own.ledger {
                diesel::insert_into(schema::accounting_settings::table)
                    .values(settings)
                    .execute(conn)?;
            }
            diesel::update(schema::catalogue_state::table)
                .set(schema::catalogue_state::seed.eq(digest))
                .execute(conn)?;
            Ok(Change::of("seed-data", &data.company.name)
                .wrote(&loaded::of_seed(conn)?)?
                .with(Loaded::Now))
        })
    }
}

fn insert_all(conn: &mut Conn, data: &OfficeData) -> Result<(), StoreFault> {
    let company = body("company", "1", &data.company)?;
    let values = (schema::company::id.eq(1), schema::company::body.eq(company));
    diesel::insert_into(schema::company::table)
        .values(values)
        .execute(conn)?;
    insert_items(conn, &data.items)?;
    insert_labour(conn, &data.labour)?;
    let mut rows = Vec::with_capacity(data.equipment.len());
    for (position, equipment) in (0..).zip(&data.equipment) {
        let class = &equipment.class;
        rows.push(NewEquipment {
            class,
            position,
            body: body("equipment", class, equipment)?,
        });
    }
    each!(conn, conn => diesel::insert_into(schema::equipment::table).values(&rows).execute(conn))?;
    data.policies
        .iter()
        .try_for_each(|policy| policies::insert(conn, policy).map(drop))
}

fn insert_items(conn: &mut Conn, items: &[Item]) -> Result<(), StoreFault> {
    let mut rows = Vec::with_capacity(items.len());
    let mut prices: Vec<PriceRow> = Vec::with_capacity(items.len());
    for (position, item) in (0..).zip(items) {
        let mut bare = item.clone();
        for pack in &mut bare.packs {
            let size = decimal::plain(pack.size);
            let dated = std::mem::take(&mut pack.prices);
            prices.extend(dated.iter().map(|price| PriceRow::new(&item.code, &size, price)));
        }
        let code = &item.code;
        rows.push(NewItem {
            code,
            position,
            body: body("items", code, &bare)?,
        });
    }
    each!(conn, conn => diesel::insert_into(schema::items::table).values(&rows).execute(conn))?;
    each!(conn, conn => diesel::insert_into(schema::item_prices::table).values(&prices).execute(conn))?;
    Ok(())
}

fn insert_labour(conn: &mut Conn, labour: &[LabourClass]) -> Result<(), StoreFault> {
    let mut rows = Vec::with_capacity(labour.len());
    let mut rates = Vec::with_capacity(labour.len());
    for (position, class) in (0..).zip(labour) {
        let mut bare = class.clone();
        let code = &class.code;
        for rate in std::mem::take(&mut bare.rates) {
            let labour_class = code.clone();
            rates.push(RateRow {
                labour_class,
                valid_from: rate.valid_from,
                body: body("labour_rates", code, &rate)?,
            });
        }
        rows.push(NewLabourClass {
            code,
            position,
            body: body("labour_classes", code, &bare)?,
        });
    }
    each!(conn, conn => diesel::insert_into(schema::labour_classes::table).values(&rows).execute(conn))?;
    each!(conn, conn => diesel::insert_into(schema::labour_rates::table).values(&rates).execute(conn))?;
    Ok(())
}

fn read_items(conn: &mut Conn) -> Result<Vec<Item>, StoreFault> {
    use schema::{item_prices, items};
    let bodies: Vec<(String, String)> = items::table
        .select((items::code, items::body))
        .order(items::position)
        .load(conn)?;
    let order = (
        item_prices::item_code,
        item_prices::pack_size,
        item_prices::valid_from,
    );
    let mut rows: Vec<PriceRow> = item_prices::table
        .select(PriceRow::as_select())
        .order(order)
        .load(conn)?;
    let mut found = Vec::with_capacity(bodies.len());
    for (code, text) in bodies {
        let mut item: Item = parse("items", &code, &text)?;
        let start = rows.partition_point(|row| row.item_code < code);
        let end = rows.partition_point(|row| row.item_code <= code);
        for row in rows.get_mut(start..end).unwrap_or_default() {
            let pack = item
                .packs
                .iter_mut()
                .find(|pack| decimal::plain(pack.size) == row.pack_size);
            let pack = pack.ok_or_else(|| StoreFault::corrupt("item_prices", &code, "a price of no pack"))?;
            let amount = decimal::parse(&row.amount, decimal::UNIT_PRICE_SCALE)
                .map_err(|fault| StoreFault::corrupt("item_prices", &code, fault))?;
            let source = std::mem::take(&mut row.source);
            pack.prices.push(Price {
                valid_from: row.valid_from,
                amount,
                source,
            });
        }
        found.push(item);
    }
    Ok(found)
}

fn read_labour(conn: &mut Conn) -> Result<Vec<LabourClass>, StoreFault> {
    use schema::{labour_classes, labour_rates};
    let select = labour_classes::table.select((labour_classes::code, labour_classes::body));
    let bodies: Vec<(String, String)> = select.order(labour_classes::position).load(conn)?;
    let rows: Vec<RateRow> = labour_rates::table
        .select(RateRow::as_select())
        .order((labour_rates::labour_class, labour_rates::valid_from))
        .load(conn)?;
    let mut found = Vec::with_capacity(bodies.len());
    for (code, text) in bodies {
        let mut class: LabourClass = parse("labour_classes", &code, &text)?;
        for row in rows.iter().filter(|row| row.labour_class == code) {
            let rate: LabourRate = parse("labour_rates", &code, &row.body)?;
            class.rates.push(rate);
        }
        found.push(class);
    }
    Ok(found)
}

fn read_equipment(conn: &mut Conn) -> Result<Vec<Equipment>, StoreFault> {
    use schema::equipment;
    let select = equipment::table.select((equipment::class, equipment::body));
    let bodies: Vec<(String, String)> = select.order(equipment::position).load(conn)?;
    bodies
        .iter()
        .map(|(class, text)| parse("equipment", class, text))
        .collect()
}

pub(super) fn body(table: &'static str, key: &str, value: &impl Serialize) -> Result<String, StoreFault> {
    serde_json::to_string(value).map_err(|fault| StoreFault::corrupt(table, key, fault))
}

pub(super) fn parse<T: DeserializeOwned>(
    table: &'static str,
    key: &str,
    text: &str,
) -> Result<T, StoreFault> {
    serde_json::from_str(text).map_err(|fault| StoreFault::corrupt(table, key, fault))
}
