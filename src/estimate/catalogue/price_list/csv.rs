//! Comma-separated values, read piece by piece as they arrive, so that the file is never held whole.
//!
//! Rows are counted as a spreadsheet counts them: every record is one, blank lines too. The format is RFC 4180 with
//! the separator that the mapping names, and lines that end in LF, CR LF or CR. A quotation mark inside a field that
//! does not begin with one is kept as it is (`1/2" tube`): RFC 4180 leaves that out, and no other reading is
//! possible. What follows a closing quotation mark, and one that is never closed, is a fault.

use thiserror::Error;

use super::a1;
use super::cell::Cell;

/// Most bytes of one record.
const RECORD_BYTES_MOST: usize = 1_048_576;

/// Why the text is not comma-separated values.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CsvFault {
    /// A field that begins with a quotation mark goes on behind the closing one.
    #[error(
        "{cell}: text follows the closing quotation mark; a quotation mark inside a quoted field is doubled"
    )]
    AfterQuote {
        /// The cell.
        cell: String,
    },
    /// A quotation mark that is opened and never closed.
    #[error("{cell}: the quotation mark at its beginning is never closed")]
    Unclosed {
        /// The cell.
        cell: String,
    },
    /// A record that is longer than any row of a price list.
    #[error(
        "row {row} is longer than {RECORD_BYTES_MOST} bytes or {} columns: is a quotation mark unclosed?",
        a1::COLUMNS_MOST
    )]
    TooLong {
        /// The row.
        row: u32,
    },
    /// More rows than can be counted.
    #[error("there are too many rows")]
    TooMany,
}

/// One record, its fields in one piece of text.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Record {
    text: String,
    ends: Vec<usize>,
}

impl Record {
    /// The fields in their order.
    pub fn fields(&self) -> impl ExactSizeIterator<Item = &str> {
        let mut start = 0;
        self.ends.iter().map(move |end| {
            let field = self.text.get(start..*end).unwrap_or_default();
            start = *end;
            field
        })
    }

    /// The fields as cells.
    pub fn cells(&self) -> impl ExactSizeIterator<Item = Cell<'_>> {
        self.fields().map(|field| {
            if field.is_empty() {
                Cell::Empty
            } else {
                Cell::Text(field.into())
            }
        })
    }

    fn clear(&mut self) {
        self.text.clear();
        self.ends.clear();
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum State {
    /// Nothing of the row has come.
    RowStart,
    /// Behind a separator.
    FieldStart,
    /// In a field without quotation marks.
    Bare,
    /// Between quotation marks.
    Quoted,
    /// Behind a quotation mark inside a quoted field: the closing one, or the first of two.
    Quote,
}

/// Reads records out of pieces of text.
#[derive(Debug)]
pub struct Reader {
    separator: u8,
    state: State,
    /// The row that is being read, from 1.
    row: u32,
    record: Record,
    /// A carriage return ended the row; a line feed that follows belongs to it.
    after_return: bool,
    begun: bool,
}

impl Reader {
    /// A reader of fields that are separated by `separator`, an ASCII character.
    pub fn new(separator: u8) -> Self {
        Self {
            separator,
            state: State::RowStart,
            row: 1,
            record: Record::default(),
            after_return: false,
            begun: false,
        }
    }

    /// Takes the next piece of the text and hands every record that it completes, with its row, to `each`.
    ///
    /// # Errors
    /// The text is no CSV, or `each` refuses a record.
    pub fn feed<E: From<CsvFault>>(
        &mut self,
        piece: &str,
        mut each: impl FnMut(u32, &Record) -> Result<(), E>,
    ) -> Result<(), E> {
        let mut rest = piece;
        if !self.begun && !piece.is_empty() {
            self.begun = true;
            rest = piece.strip_prefix('\u{feff}').unwrap_or(piece);
        }
        while let Some(&byte) = rest.as_bytes().first() {
            let plain = self.plain_length(rest);
            if plain > 0 {
                let (text, more) = rest.split_at_checked(plain).unwrap_or((rest, ""));
                self.take_plain(text)?;
                rest = more;
                continue;
            }
            // Every special character is ASCII, one byte.
            rest = rest.get(1..).unwrap_or_default();
            if self.take_special(byte)? {
                self.end_row(&mut each)?;
            }
        }
        Ok(())
    }

    /// Ends the text: hands over the last record where no line end follows it.
    ///
    /// # Errors
    /// A quotation mark is still open, or `each` refuses the record.
    pub fn finish<E: From<CsvFault>>(
        mut self,
        mut each: impl FnMut(u32, &Record) -> Result<(), E>,
    ) -> Result<(), E> {
        match self.state {
            State::RowStart => Ok(()),
            State::Quoted => Err(CsvFault::Unclosed { cell: self.cell() }.into()),
            State::FieldStart | State::Bare | State::Quote => {
                self.end_field();
                self.end_row(&mut each)
            }
        }
    }

    /// How many bytes from the beginning of `text` are plain in the present state.
    fn plain_length(&self, text: &str) -> usize {
        let quoted = self.state == State::Quoted;
        let special = |byte: &u8| match *byte {
            b'"' => true,
            b'\r' | b'\n' => !quoted,
            byte => byte == self.separator && !quoted,
        };
        text.as_bytes().iter().position(special).unwrap_or(text.len())
    }

    fn take_plain(&mut self, text: &str) -> Result<(), CsvFault> {
        match self.state {
            State::RowStart | State::FieldStart => self.state = State::Bare,
            State::Bare | State::Quoted => {}
            State::Quote => return Err(CsvFault::AfterQuote { cell: self.cell() }),
        }
        self.after_return = false;
        self.push(text)
    }

    fn push(&mut self, text: &str) -> Result<(), CsvFault> {
        if self.record.text.len() + text.len() > RECORD_BYTES_MOST {
            return Err(CsvFault::TooLong { row: self.row });
        }
        self.record.text.push_str(text);
        Ok(())
    }

    /// Takes a quotation mark, a separator or a line end; says whether the row ended.
    fn take_special(&mut self, byte: u8) -> Result<bool, CsvFault> {
        let after_return = std::mem::take(&mut self.after_return);
        match byte {
            b'"' => {
                match self.state {
                    State::RowStart | State::FieldStart => self.state = State::Quoted,
                    State::Quoted => self.state = State::Quote,
                    State::Bare => self.push("\"")?,
                    State::Quote => {
                        self.push("\"")?;
                        self.state = State::Quoted;
                    }
                }
                Ok(false)
            }
            b'\n' if after_return => Ok(false),
            b'\n' | b'\r' => {
                self.after_return = byte == b'\r';
                self.end_field();
                Ok(true)
            }
            _ => {
                self.end_field();
                self.state = State::FieldStart;
                if self.record.ends.len() >= a1::COLUMNS_MOST {
                    return Err(CsvFault::TooLong { row: self.row });
                }
                Ok(false)
            }
        }
    }

    fn end_field(&mut self) {
        self.record.ends.push(self.record.text.len());
    }

    fn end_row<E: From<CsvFault>>(
        &mut self,
        each: &mut impl FnMut(u32, &Record) -> Result<(), E>,
    ) -> Result<(), E> {
        self.state = State::RowStart;
        each(self.row, &self.record)?;
        self.record.clear();
        self.row = self.row.checked_add(1).ok_or(CsvFault::TooMany)?;
        Ok(())
    }

    /// The cell that is being read.
    fn cell(&self) -> String {
        a1::cell(self.record.ends.len(), self.row)
    }
}
