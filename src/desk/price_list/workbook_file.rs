//! A workbook (ISO/IEC 29500, XLSX), read row by row.
//!
//! Numbers are binary in it, and this is the one place of the service that meets them: each is taken by the shortest
//! decimal text that reads back to it, to six decimals. Formulas are taken by the value that was saved with them.

use std::io::{self, Cursor, Read};

use calamine::{Data, DataRef, Reader as _, Xlsx, XlsxError};
use chrono::NaiveDate;
use estimate::catalogue::price_list::number::binary_cell;
use estimate::catalogue::price_list::{Cell, ListFault, Reading, RowsRead};
use zip::ZipArchive;

use super::intake::IntakeFault;

/// Most bytes that a workbook may unpack to: several times what a list of the most rows needs.
pub(super) const UNPACKED_MOST: u64 = 201_326_592;
/// Most files inside a workbook.
const PARTS_MOST: usize = 2_000;

/// Reads the sheet of this name, or the first one.
pub(super) fn read(bytes: &[u8], sheet: Option<&str>, mut reading: Reading) -> Result<RowsRead, IntakeFault> {
    check_unpacked(bytes)?;
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).map_err(broken)?;
    let there = book.sheet_names();
    let wanted = match sheet {
        None => there
            .first()
            .cloned()
            .ok_or_else(|| IntakeFault::Workbook("it has no sheet".to_owned()))?,
        Some(name) if there.iter().any(|known| known == name) => name.to_owned(),
        Some(name) => {
            return Err(IntakeFault::NoSheet {
                wanted: name.to_owned(),
                there,
            });
        }
    };
    let mut cells = book.worksheet_cells_reader(&wanted).map_err(broken)?;
    let mut row: Vec<Cell<'static>> = Vec::new();
    let mut number = 0;
    while let Some(cell) = cells.next_cell().map_err(broken)? {
        let (line, column) = cell.get_position();
        let line = line.checked_add(1).ok_or(ListFault::TooManyRows)?;
        if line != number {
            hand_over(&mut reading, number, &mut row)?;
            number = line;
        }
        let column = usize::try_from(column).unwrap_or(usize::MAX);
        if column >= estimate::catalogue::price_list::a1::COLUMNS_MOST {
            return Err(IntakeFault::Workbook(format!(
                "row {number} has too many columns"
            )));
        }
        while row.len() <= column {
            row.push(Cell::Empty);
        }
        if let Some(place) = row.get_mut(column) {
            *place = taken(cell.get_value());
        }
    }
    hand_over(&mut reading, number, &mut row)?;
    Ok(reading.finish()?)
}

fn hand_over(reading: &mut Reading, number: u32, row: &mut Vec<Cell<'static>>) -> Result<(), ListFault> {
    if !row.is_empty() {
        reading.row(number, row)?;
        row.clear();
    }
    Ok(())
}

/// What is wrong with a workbook that cannot be read, in the office's words; those of the library go to the log.
fn broken(fault: XlsxError) -> IntakeFault {
    tracing::debug!(%fault, "a workbook cannot be read");
    let said = match fault {
        XlsxError::Password => "it is locked by a password: save it without one",
        XlsxError::FileNotFound(_) => {
            "a part of it is missing: open it in a spreadsheet and save it anew as XLSX"
        }
        _ => DAMAGED,
    };
    IntakeFault::Workbook(said.to_owned())
}

/// What is said of a workbook that does not unpack, or whose parts are not what they should be.
const DAMAGED: &str = "it is damaged, or no XLSX at all: open it in a spreadsheet and save it anew as XLSX";

/// Unpacks every part once, into nothing: what a directory says of its parts need not be true.
fn check_unpacked(bytes: &[u8]) -> Result<(), IntakeFault> {
    let unreadable = |fault: &dyn std::fmt::Display| {
        tracing::debug!(%fault, "a workbook cannot be unpacked");
        IntakeFault::Workbook(DAMAGED.to_owned())
    };
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(|fault| unreadable(&fault))?;
    if archive.len() > PARTS_MOST {
        return Err(IntakeFault::Unpacked);
    }
    let mut room = UNPACKED_MOST;
    for place in 0..archive.len() {
        let part = archive.by_index(place).map_err(|fault| unreadable(&fault))?;
        let size = io::copy(&mut part.take(room.saturating_add(1)), &mut io::sink());
        let size = size.map_err(|fault| unreadable(&fault))?;
        room = room.checked_sub(size).ok_or(IntakeFault::Unpacked)?;
    }
    Ok(())
}

fn taken(value: &DataRef<'_>) -> Cell<'static> {
    match value {
        DataRef::Empty => Cell::Empty,
        DataRef::String(text) => Cell::Text(text.clone().into()),
        DataRef::SharedString(text) => Cell::Text((*text).to_owned().into()),
        DataRef::Int(number) => binary_cell(&number.to_string()),
        DataRef::Float(number) => binary_cell(&number.to_string()),
        DataRef::DateTime(moment) => match moment.as_datetime() {
            Some(moment) => Cell::Date(moment.date()),
            None => other(&Data::from(value.clone())),
        },
        DataRef::DateTimeIso(text) => {
            let day = text
                .get(..10)
                .and_then(|day| NaiveDate::parse_from_str(day, "%Y-%m-%d").ok());
            day.map_or_else(|| Cell::Other(text.clone().into()), Cell::Date)
        }
        DataRef::Bool(_) | DataRef::Error(_) | DataRef::DurationIso(_) => other(&Data::from(value.clone())),
    }
}

fn other(value: &Data) -> Cell<'static> {
    Cell::Other(value.to_string().into())
}
