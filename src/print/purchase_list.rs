//! The purchase list as CSV and as a workbook: a row for each size of pack.

use chrono::Datelike;
use estimate::handoff::purchase_list::{Packs, Purchase, PurchaseList};
use estimate::handoff::words::Language;
use estimate::quantity::unit::Unit;
use estimate::quantity::{Quantity, decimal};
use rust_xlsxwriter::{DocProperties, ExcelDateTime, Format, Workbook, XlsxError};

/// What stands in a cell. Digits are kept as text until a workbook wants a number.
enum Cell {
    Text(String),
    Digits(String),
    Empty,
}

/// Widths of the columns, in letters.
const WIDTHS: [f64; 14] = [
    24.0, 16.0, 16.0, 44.0, 10.0, 10.0, 8.0, 14.0, 10.0, 8.0, 10.0, 10.0, 10.0, 30.0,
];

fn headings(language: Language) -> [&'static str; 14] {
    let words = language.words();
    [
        words.supplier,
        words.part_number,
        words.code,
        words.description,
        words.needed,
        words.waste,
        words.unit_of_measure,
        words.packs,
        words.pack_size,
        words.count,
        words.bought,
        words.left_over,
        words.lead_days,
        words.jobs,
    ]
}

/// The list as CSV (RFC 4180).
pub fn purchase_csv(list: &PurchaseList, language: Language) -> String {
    let mut out = csv_row(headings(language).iter().map(|heading| (*heading).to_owned()));
    for cells in rows(list, language) {
        out += &csv_row(cells.into_iter().map(|cell| match cell {
            Cell::Text(text) => harmless(text),
            Cell::Digits(digits) => digits,
            Cell::Empty => String::new(),
        }));
    }
    out
}

/// A text that a spreadsheet will not take for a formula.
fn harmless(text: String) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{text}")
    } else {
        text
    }
}

fn csv_row(cells: impl Iterator<Item = String>) -> String {
    let quoted = cells.map(|cell| {
        if cell.contains(['"', ',', '\n', '\r']) {
            format!("\"{}\"", cell.replace('"', "\"\""))
        } else {
            cell
        }
    });
    quoted.collect::<Vec<_>>().join(",") + "\r\n"
}

/// The list as a workbook; its sheet is called by its day, and that of its making is the same.
///
/// # Errors
/// The library cannot write it.
pub fn purchase_workbook(list: &PurchaseList, language: Language) -> Result<Vec<u8>, XlsxError> {
    let (mut workbook, day) = (Workbook::new(), list.day);
    let made = ExcelDateTime::from_ymd(
        u16::try_from(day.year()).unwrap_or(2000),
        u8::try_from(day.month()).unwrap_or(1),
        u8::try_from(day.day()).unwrap_or(1),
    )?;
    workbook.set_properties(&DocProperties::new().set_creation_datetime(&made));
    let bold = Format::new().set_bold().set_text_wrap();
    let sheet = workbook.add_worksheet();
    sheet.set_name(format!("{} {day}", language.words().purchase_list))?;
    sheet.set_freeze_panes(1, 0)?;
    sheet.set_repeat_rows(0, 0)?;
    sheet.set_landscape();
    sheet.set_print_fit_to_pages(1, 0);
    for (column, (heading, width)) in (0..).zip(headings(language).iter().zip(WIDTHS)) {
        sheet.set_column_width(column, width)?;
        sheet.write_string_with_format(0, column, *heading, &bold)?;
    }
    for (row, cells) in (1..).zip(rows(list, language)) {
        for (column, cell) in (0..).zip(cells) {
            match cell {
                Cell::Text(text) => sheet.write_string(row, column, text)?,
                // Quantities have at most 16 digits, which a spreadsheet's numbers hold.
                Cell::Digits(digits) => match digits.parse::<f64>() {
                    Ok(number) => sheet.write_number(row, column, number)?,
                    Err(_) => sheet.write_string(row, column, digits)?,
                },
                Cell::Empty => continue,
            };
        }
    }
    workbook.save_to_buffer()
}

fn rows(list: &PurchaseList, language: Language) -> Vec<Vec<Cell>> {
    let mut rows = Vec::new();
    for purchase in &list.lines {
        let mut packs = purchase.packs.iter();
        rows.push(first_row(purchase, packs.next(), language));
        rows.extend(packs.map(|pack| further_row(purchase, pack, language)));
    }
    rows
}

fn text(text: &str) -> Cell {
    if text.is_empty() {
        Cell::Empty
    } else {
        Cell::Text(text.to_owned())
    }
}

fn digits(quantity: Option<&Quantity>) -> Cell {
    quantity.map_or(Cell::Empty, |quantity| {
        Cell::Digits(decimal::plain(quantity.value))
    })
}

/// A unit: pieces have a word, all others their symbol.
fn unit_word(unit: Unit, language: Language) -> String {
    if unit == Unit::EACH {
        language.words().each.to_owned()
    } else {
        unit.to_string()
    }
}

fn named(purchase: &Purchase, language: Option<Language>) -> [Cell; 4] {
    let by_hand = language.filter(|_| purchase.supplier.is_empty());
    let supplier = by_hand.map_or(purchase.supplier.as_str(), |language| language.words().by_hand);
    [
        text(supplier),
        text(purchase.part_number.as_deref().unwrap_or_default()),
        text(&purchase.code),
        text(&purchase.description),
    ]
}

fn pack_cells(pack: Option<&Packs>) -> [Cell; 3] {
    [
        pack.map_or(Cell::Empty, |pack| text(&pack.name)),
        digits(pack.map(|pack| &pack.size)),
        pack.map_or(Cell::Empty, |pack| Cell::Digits(pack.count.to_string())),
    ]
}

fn first_row(purchase: &Purchase, pack: Option<&Packs>, language: Language) -> Vec<Cell> {
    let unit = purchase.needed.map(|needed| unit_word(needed.unit, language));
    let shares = purchase.shares.iter().map(|share| {
        let quantity = share.quantity.map(|quantity| {
            let unit = unit_word(quantity.unit, language);
            format!(": {} {unit}", decimal::plain(quantity.value))
        });
        format!("{}{}", share.quote, quantity.unwrap_or_default())
    });
    let shares = shares.collect::<Vec<_>>().join("; ");
    let mut cells: Vec<Cell> = named(purchase, Some(language)).into();
    cells.extend([
        digits(purchase.needed.as_ref()),
        digits(purchase.waste.as_ref()),
        text(&unit.unwrap_or_default()),
    ]);
    cells.extend(pack_cells(pack));
    cells.extend([
        digits(purchase.bought.as_ref()),
        digits(purchase.left_over.as_ref()),
        purchase
            .lead_days
            .map_or(Cell::Empty, |days| Cell::Digits(days.to_string())),
        text(&shares),
    ]);
    cells
}

/// Another size of pack of the same item: what was said of the item is not said again, so that sums come out.
fn further_row(purchase: &Purchase, pack: &Packs, language: Language) -> Vec<Cell> {
    let mut cells: Vec<Cell> = named(purchase, None).into();
    cells.extend([
        Cell::Empty,
        Cell::Empty,
        text(&unit_word(pack.size.unit, language)),
    ]);
    cells.extend(pack_cells(Some(pack)));
    cells
}
