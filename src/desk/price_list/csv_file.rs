//! A CSV file, decoded and read piece by piece; nothing of it is kept but its rows.

use encoding_rs::{Decoder, DecoderResult};
use estimate::catalogue::price_list::csv::{Reader, Record};
use estimate::catalogue::price_list::mapping::Encoding;
use estimate::catalogue::price_list::{Cell, ListFault, Reading};
use sha2::{Digest, Sha256};

use super::intake::{Intake, IntakeFault, ReadList, hexadecimal};

/// A CSV file that is being read.
pub struct CsvFile {
    intake: Intake,
    decoder: Decoder,
    encoding: &'static str,
    text: String,
    reader: Reader,
    rows: Rows,
    digest: Sha256,
}

struct Rows {
    reading: Reading,
    last: u32,
}

impl Rows {
    fn take(&mut self, number: u32, record: &Record) -> Result<(), ListFault> {
        self.last = number;
        let cells: Vec<Cell<'_>> = record.cells().collect();
        self.reading.row(number, &cells)
    }
}

impl CsvFile {
    pub(super) fn new(intake: Intake, reading: Reading) -> Self {
        let (encoding, name) = match intake.mapping().encoding {
            Encoding::Utf8 => (encoding_rs::UTF_8, "UTF-8"),
            Encoding::Windows1252 => (encoding_rs::WINDOWS_1252, "windows-1252"),
        };
        let reader = Reader::new(intake.mapping().separator.byte());
        Self {
            intake,
            // The reader of CSV takes the byte order mark off.
            decoder: encoding.new_decoder_without_bom_handling(),
            encoding: name,
            text: String::new(),
            reader,
            rows: Rows { reading, last: 0 },
            digest: Sha256::new(),
        }
    }

    /// Takes the next piece of the file.
    ///
    /// # Errors
    /// It is no CSV of the encoding, or not a list of the mapping.
    pub fn push(&mut self, bytes: &[u8]) -> Result<(), IntakeFault> {
        self.digest.update(bytes);
        self.decode(bytes, false)
    }

    fn decode(&mut self, bytes: &[u8], last: bool) -> Result<(), IntakeFault> {
        self.text.clear();
        let room = self
            .decoder
            .max_utf8_buffer_length_without_replacement(bytes.len());
        self.text.reserve(room.unwrap_or(bytes.len()));
        let (result, _) = self
            .decoder
            .decode_to_string_without_replacement(bytes, &mut self.text, last);
        let rows = &mut self.rows;
        self.reader
            .feed(&self.text, |number, record| rows.take(number, record))?;
        match result {
            DecoderResult::InputEmpty => Ok(()),
            DecoderResult::Malformed(_, _) | DecoderResult::OutputFull => Err(IntakeFault::Encoding {
                row: self.rows.last.saturating_add(1),
                encoding: self.encoding,
            }),
        }
    }

    /// Ends the file.
    ///
    /// # Errors
    /// It ends inside a quotation, or has no row.
    pub fn finish(mut self) -> Result<ReadList, IntakeFault> {
        self.decode(&[], true)?;
        let rows = &mut self.rows;
        self.reader.finish(|number, record| rows.take(number, record))?;
        let read = self.rows.reading.finish()?;
        Ok(self.intake.read(read, hexadecimal(&self.digest.finalize())))
    }
}
