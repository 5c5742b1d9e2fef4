//! One row of a list, made of its cells by the mapping.

use chrono::NaiveDate;
use rust_decimal::Decimal;

use super::cell::Cell;
use super::mapping::{Column, Columns, DateOrder, Mapping};
use super::mapping_check::is_name;
use super::outcome::{Trouble, TroubleKind};
use super::{CELL_CHARACTERS_MOST, a1};
use crate::quantity::Currency;
use crate::quantity::decimal::{DecimalFault, UNIT_PRICE_SCALE};
use crate::quantity::nearest;
use crate::quantity::unit::Unit;

/// A readable row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ListRow {
    /// The row, from 1.
    pub row: u32,
    /// The company's code.
    pub code: String,
    /// The size of the pack, in the row's unit, where the list or the mapping says it.
    pub size: Option<Decimal>,
    /// The unit, where the list or the mapping says it.
    pub unit: Option<Unit>,
    /// The price as it is listed; not negative.
    pub price: Decimal,
    /// For how many units it is, where the list says it; more than zero.
    pub per: Option<Decimal>,
    /// Its first day, where the list says it.
    pub valid_from: Option<NaiveDate>,
    /// What the item is, where new ones are added.
    pub description: Option<Box<str>>,
    /// What the pack is called, where new ones are added.
    pub pack_name: Option<Box<str>>,
    /// What the workbook holds, where the price was rounded.
    pub rounded_from: Option<Box<str>>,
}

/// Where the columns of a mapping are in a list: indexes from 0.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Places {
    pub(super) code: usize,
    pub(super) price: usize,
    pub(super) pack_size: Option<usize>,
    pack_name: Option<usize>,
    pub(super) unit: Option<usize>,
    currency: Option<usize>,
    valid_from: Option<usize>,
    description: Option<usize>,
    price_per: Option<usize>,
}

impl Places {
    /// Finds the columns; `find` gives the index of one, or a fault.
    pub(super) fn find<E>(columns: &Columns, find: impl Fn(&Column) -> Result<usize, E>) -> Result<Self, E> {
        let optional = |column: &Option<Column>| column.as_ref().map(&find).transpose();
        Ok(Self {
            code: find(&columns.code)?,
            price: find(&columns.price)?,
            pack_size: optional(&columns.pack_size)?,
            pack_name: optional(&columns.pack_name)?,
            unit: optional(&columns.unit)?,
            currency: optional(&columns.currency)?,
            valid_from: optional(&columns.valid_from)?,
            description: optional(&columns.description)?,
            price_per: optional(&columns.price_per)?,
        })
    }
}

/// Reads the cells of one row and notes every trouble.
pub(super) struct RowReader<'a> {
    mapping: &'a Mapping,
    places: &'a Places,
    row: u32,
    cells: &'a [Cell<'a>],
    code: Option<String>,
    troubles: Vec<Trouble>,
}

const EMPTY: &Cell<'static> = &Cell::Empty;

impl<'a> RowReader<'a> {
    pub(super) fn new(mapping: &'a Mapping, places: &'a Places, row: u32, cells: &'a [Cell<'a>]) -> Self {
        Self {
            mapping,
            places,
            row,
            cells,
            code: None,
            troubles: Vec::new(),
        }
    }

    /// The row, or every trouble that it is in.
    pub(super) fn read(mut self, company: Currency) -> Result<ListRow, Vec<Trouble>> {
        let code = self.read_code();
        self.code.clone_from(&code);
        let price = self.price();
        let size = self
            .positive(self.places.pack_size)
            .or(self.mapping.usual.pack_size);
        let per = self.positive(self.places.price_per);
        let unit = self.unit();
        self.check_currency(company);
        let valid_from = self.valid_from();
        let new = self.mapping.new_items.is_some();
        let description = new.then(|| self.note(self.places.description)).flatten();
        let pack_name = new.then(|| self.note(self.places.pack_name)).flatten();
        match (code, price) {
            (Some(code), Some(price)) if self.troubles.is_empty() => Ok(ListRow {
                row: self.row,
                code,
                size,
                unit,
                price,
                per,
                valid_from,
                description,
                pack_name,
                rounded_from: self.rounded_from(),
            }),
            _ => Err(self.troubles),
        }
    }

    fn cell(&self, place: usize) -> &'a Cell<'a> {
        self.cells.get(place).unwrap_or(EMPTY)
    }

    fn trouble(&mut self, place: usize, kind: TroubleKind, message: String) {
        self.troubles.push(Trouble {
            row: self.row,
            cell: Some(a1::cell(place, self.row)),
            code: self.code.clone(),
            kind,
            message,
            left_out: false,
        });
    }

    fn read_code(&mut self) -> Option<String> {
        let place = self.places.code;
        let cell = self.cell(place);
        let Some(theirs) = cell.text() else {
            let message = match cell.shown() {
                shown if shown.is_empty() => "there is no code".to_owned(),
                shown => format!("`{shown}` is not a code"),
            };
            self.trouble(place, TroubleKind::Code, message);
            return None;
        };
        let ours = self.mapping.codes.get(theirs).map_or(theirs, String::as_str);
        if !is_name(ours) {
            let message = format!("`{}` is too long for a code, or holds a line break", cell.shown());
            self.trouble(place, TroubleKind::Code, message);
            return None;
        }
        Some(ours.to_owned())
    }

    fn price(&mut self) -> Option<Decimal> {
        let place = self.places.price;
        let cell = self.cell(place);
        match self.mapping.numbers.read(cell) {
            Ok(price) if price >= Decimal::ZERO => Some(price),
            Ok(_) => {
                self.trouble(
                    place,
                    TroubleKind::Number,
                    format!("the price `{}` is negative", cell.shown()),
                );
                None
            }
            Err(_) if cell.is_empty() => {
                self.trouble(place, TroubleKind::Number, "there is no price".to_owned());
                None
            }
            Err(fault) => self.unreadable(place, &fault),
        }
    }

    fn unreadable(&mut self, place: usize, fault: &DecimalFault) -> Option<Decimal> {
        let shown = self.cell(place).shown();
        let message = match fault {
            DecimalFault::Grammar => {
                format!("`{shown}` is not a number as the mapping says numbers are written")
            }
            DecimalFault::TooLarge | DecimalFault::TooFine { .. } => format!("`{shown}` {fault}"),
        };
        self.trouble(place, TroubleKind::Number, message);
        None
    }

    /// A number above zero; `None` where there is no such column, its cell is empty, or that is a trouble.
    fn positive(&mut self, place: Option<usize>) -> Option<Decimal> {
        let place = place?;
        let cell = self.cell(place);
        if cell.is_empty() {
            return None;
        }
        match self.mapping.numbers.read(cell) {
            Ok(number) if number > Decimal::ZERO => Some(number.normalize()),
            Ok(_) => {
                self.trouble(
                    place,
                    TroubleKind::Number,
                    format!("`{}` is not more than zero", cell.shown()),
                );
                None
            }
            Err(fault) => self.unreadable(place, &fault),
        }
    }

    fn unit(&mut self) -> Option<Unit> {
        let usual = self.mapping.usual.unit;
        let Some(place) = self.places.unit else {
            return usual;
        };
        let cell = self.cell(place);
        if cell.is_empty() {
            return usual;
        }
        let word = cell.text().unwrap_or_default();
        if let Some(unit) = self.mapping.units.get(word) {
            return Some(*unit);
        }
        if let Ok(unit) = Unit::parse(word) {
            return Some(unit);
        }
        let mut words: Vec<&str> = self.mapping.units.keys().map(String::as_str).collect();
        for name in Unit::names() {
            words.push(name);
        }
        let hint = nearest::name(word, words);
        let hint = hint.map(|name| format!("; {name} is near")).unwrap_or_default();
        let message = format!(
            "`{}` is no unit, and the mapping has no word for it{hint}",
            cell.shown()
        );
        self.trouble(place, TroubleKind::Unit, message);
        None
    }

    fn check_currency(&mut self, company: Currency) {
        let usual = self.mapping.usual.currency.unwrap_or(company);
        let place = self.places.currency.unwrap_or(self.places.price);
        let cell = self.places.currency.map_or(EMPTY, |place| self.cell(place));
        let named = if cell.is_empty() {
            Ok(usual)
        } else {
            Currency::parse(cell.text().unwrap_or_default())
        };
        let message = match named {
            Ok(named) if named == company => return,
            Ok(named) => format!(
                "the price is in {}, the company's currency is {}",
                named.code(),
                company.code()
            ),
            Err(_) => format!("`{}` is no code of ISO 4217", cell.shown()),
        };
        self.trouble(place, TroubleKind::Currency, message);
    }

    fn valid_from(&mut self) -> Option<NaiveDate> {
        let place = self.places.valid_from?;
        let cell = self.cell(place);
        match cell {
            Cell::Date(day) => return Some(*day),
            cell if cell.is_empty() => return None,
            Cell::Text(text) => {
                if let Some(day) = self.mapping.dates.read(text.trim()) {
                    return Some(day);
                }
            }
            Cell::Empty | Cell::Number { .. } | Cell::Other(_) => {}
        }
        let message = format!(
            "`{}` is not a date as the mapping says dates are written",
            cell.shown()
        );
        self.trouble(place, TroubleKind::Date, message);
        None
    }

    /// Text for people: shortened, of one line.
    fn note(&self, place: Option<usize>) -> Option<Box<str>> {
        let text = self.cell(place?).text()?;
        let one_line = text
            .chars()
            .map(|letter| if letter.is_control() { ' ' } else { letter });
        Some(one_line.take(CELL_CHARACTERS_MOST).collect::<String>().into())
    }

    fn rounded_from(&self) -> Option<Box<str>> {
        match self.cell(self.places.price) {
            Cell::Number {
                rounded_from: Some(text),
                ..
            } => Some((&**text).into()),
            _ => None,
        }
    }
}

impl DateOrder {
    /// Reads a date of this order, with four digits of the year and one or two of month and day.
    pub(super) fn read(self, text: &str) -> Option<NaiveDate> {
        let separator = text.chars().find(|letter| matches!(letter, '-' | '/' | '.'))?;
        let mut parts = text.split(separator);
        let (first, second, third) = (parts.next()?, parts.next()?, parts.next()?);
        if parts.next().is_some() {
            return None;
        }
        let (year, month, day) = match self {
            Self::YearMonthDay => (first, second, third),
            Self::DayMonthYear => (third, second, first),
            Self::MonthDayYear => (third, first, second),
        };
        let digits = |text: &str, most: usize| {
            let fits =
                !text.is_empty() && text.len() <= most && text.bytes().all(|byte| byte.is_ascii_digit());
            fits.then(|| text.parse::<u32>().ok()).flatten()
        };
        let year = (year.len() == 4).then(|| digits(year, 4)).flatten()?;
        NaiveDate::from_ymd_opt(i32::try_from(year).ok()?, digits(month, 2)?, digits(day, 2)?)
    }
}

/// The product, when no digit is lost.
pub(super) fn exact_product(one: Decimal, other: Decimal) -> Option<Decimal> {
    let product = one.checked_mul(other)?;
    let whole = product.is_zero() || product.scale() == one.scale() + other.scale();
    whole.then_some(product)
}

/// Most decimals of an amount.
pub(super) const AMOUNT_SCALE: u32 = UNIT_PRICE_SCALE;
