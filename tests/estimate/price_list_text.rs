//! The texts of a price list: CSV, numbers, names of cells.

use std::fmt::Write;

use estimate::catalogue::price_list::Cell;
use estimate::catalogue::price_list::a1;
use estimate::catalogue::price_list::csv::{CsvFault, Reader};
use estimate::catalogue::price_list::number::{NumberSigns, binary_cell};
use estimate::quantity::decimal::{self, plain};
use proptest::prelude::*;

type Rows = Vec<(u32, Vec<String>)>;

/// Reads `pieces` as one text.
fn rows<'a>(separator: u8, pieces: impl IntoIterator<Item = &'a str>) -> Result<Rows, CsvFault> {
    let mut found = Rows::new();
    let mut reader = Reader::new(separator);
    for piece in pieces {
        reader.feed(piece, |row, record| {
            found.push((row, record.fields().map(str::to_owned).collect()));
            Ok::<(), CsvFault>(())
        })?;
    }
    reader.finish(|row, record| {
        found.push((row, record.fields().map(str::to_owned).collect()));
        Ok::<(), CsvFault>(())
    })?;
    Ok(found)
}

fn fields(text: &str) -> Vec<Vec<String>> {
    let found = rows(b',', [text]).unwrap();
    found.into_iter().map(|(_, fields)| fields).collect()
}

/// The examples of RFC 4180, section 2, rules 1 to 7.
#[test]
fn the_examples_of_the_standard_read_as_it_says() {
    let two = vec![vec!["aaa", "bbb", "ccc"], vec!["zzz", "yyy", "xxx"]];
    assert_eq!(fields("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n"), two);
    assert_eq!(fields("aaa,bbb,ccc\r\nzzz,yyy,xxx"), two);
    assert_eq!(fields("\"aaa\",\"bbb\",\"ccc\"\r\nzzz,yyy,xxx"), two);
    let broken = vec![vec!["aaa", "b\r\nbb", "ccc"], vec!["zzz", "yyy", "xxx"]];
    assert_eq!(fields("\"aaa\",\"b\r\nbb\",\"ccc\"\r\nzzz,yyy,xxx"), broken);
    assert_eq!(fields("\"aaa\",\"b\"\"bb\",\"ccc\""), [["aaa", "b\"bb", "ccc"]]);
}

#[test]
fn rows_are_counted_as_a_spreadsheet_counts_them() {
    let text = "\u{feff}a,b\r\rc\n\n\"d\ne\",f\r\n";
    let found = rows(b',', [text]).unwrap();
    let numbers: Vec<u32> = found.iter().map(|(row, _)| *row).collect();
    assert_eq!(numbers, [1, 2, 3, 4, 5]);
    assert_eq!(found[0].1, ["a", "b"]);
    assert_eq!(found[1].1, [""]);
    assert_eq!(found[4].1, ["d\ne", "f"]);
}

#[test]
fn an_inch_mark_in_a_bare_field_is_kept_and_a_torn_quotation_is_told() {
    assert_eq!(
        fields("P-1,1/2\" elbow,3/8\"\n"),
        [["P-1", "1/2\" elbow", "3/8\""]]
    );
    let cell = |fault: CsvFault| match fault {
        CsvFault::AfterQuote { cell } | CsvFault::Unclosed { cell } => cell,
        other => panic!("{other}"),
    };
    let torn = rows(b';', ["a;b\nc;\"1/2\" elbow\";d\n"]).unwrap_err();
    assert!(matches!(torn, CsvFault::AfterQuote { .. }));
    assert_eq!(cell(torn), "B2");
    let open = rows(b',', ["a,b\n\nc,d,\"e\nf,g\nh"]).unwrap_err();
    assert!(matches!(open, CsvFault::Unclosed { .. }));
    assert_eq!(cell(open), "C3");
    let endless = "x".repeat(400_000);
    let long = rows(b',', ["\"", &endless, &endless, &endless]).unwrap_err();
    assert_eq!(long, CsvFault::TooLong { row: 1 });
    let wide = rows(b',', [",".repeat(20_000).as_str()]).unwrap_err();
    assert_eq!(wide, CsvFault::TooLong { row: 1 });
}

/// ISO/IEC 29500-1, 18.18.7 `ST_CellRef`, writes columns by letters; XFD is the last of 16,384 in the common programs.
#[test]
fn cells_have_the_names_that_a_spreadsheet_shows() {
    for (index, letters) in [
        (0, "A"),
        (25, "Z"),
        (26, "AA"),
        (51, "AZ"),
        (52, "BA"),
        (701, "ZZ"),
        (702, "AAA"),
        (16_383, "XFD"),
    ] {
        assert_eq!(a1::letters(index), letters);
        assert_eq!(a1::column(letters), Some(index));
    }
    assert_eq!(a1::cell(2, 7), "C7");
    for wrong in ["", "a", "A1", "XFE", "AAAA", "Ä", "-"] {
        assert_eq!(a1::column(wrong), None, "{wrong}");
    }
}

#[test]
fn numbers_are_read_as_languages_write_them() {
    let table = include_str!("../reference/number_signs.csv");
    let mut checked = 0;
    for line in table.lines().filter(|line| !line.starts_with('#')) {
        let [point, groups, text, value] = line.split(';').collect::<Vec<_>>().try_into().unwrap();
        let mut signs = format!("decimal = \"{point}\"\n");
        if groups != "none" {
            writeln!(signs, "thousands = \"{groups}\"").unwrap();
        }
        let signs: NumberSigns = toml::from_str(&signs).unwrap();
        let read = signs.read(&Cell::Text(text.into()));
        match value {
            "!" => assert!(read.is_err(), "{line}: {read:?}"),
            value => assert_eq!(read.map(plain).as_deref(), Ok(value), "{line}"),
        }
        checked += 1;
    }
    assert!(checked > 30);
}

#[test]
fn a_currency_sign_is_taken_off_and_another_is_not() {
    let signs = NumberSigns {
        currency_sign: Some("$".to_owned()),
        ..NumberSigns::default()
    };
    for text in ["$12.50", "$ 12.50", "12.50 $", " 12.50\u{a0}$ ", "12.50"] {
        assert_eq!(
            signs.read(&Cell::Text(text.into())).map(plain).as_deref(),
            Ok("12.5"),
            "{text}"
        );
    }
    for text in ["€12.50", "$$12.50", "$", "12.50 USD", "$12.50$"] {
        assert!(signs.read(&Cell::Text(text.into())).is_err(), "{text}");
    }
}

/// Shortest texts of binary numbers: the tutorial of the Python language, "Floating-Point Arithmetic: Issues and
/// Limitations", prints 0.1 + 0.2 as 0.30000000000000004.
#[test]
fn a_binary_number_is_kept_to_six_decimals_and_says_so() {
    for (shortest, kept, told) in [
        ("12.35", "12.35", false),
        ("0.30000000000000004", "0.3", true),
        ("0.123456", "0.123456", false),
        ("0.1234565", "0.123457", true),
        ("-0.1234565", "-0.123457", true),
        ("1234", "1234", false),
        ("0.00000000000000000000000000000000012", "0", true),
    ] {
        let Cell::Number { digits, rounded_from } = binary_cell(shortest) else {
            panic!("{shortest}")
        };
        assert_eq!(
            (digits.as_ref(), rounded_from.is_some()),
            (kept, told),
            "{shortest}"
        );
        assert_eq!(rounded_from.as_deref().unwrap_or(shortest), shortest);
    }
    for not_a_number in ["NaN", "inf", "-inf"] {
        assert!(
            NumberSigns::default().read(&binary_cell(not_a_number)).is_err(),
            "{not_a_number}"
        );
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// Held against the csv library, which writes RFC 4180.
    #[test]
    fn what_the_library_writes_is_read_back(
        table in prop::collection::vec(prop::collection::vec("[a\"\\n\\r, ;ü]{0,6}", 3), 1..6),
        cut in 1_usize..7,
    ) {
        let mut writer = csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
        for row in &table {
            writer.write_record(row).unwrap();
        }
        let text = String::from_utf8(writer.into_inner().unwrap()).unwrap();
        let letters: Vec<String> = text.chars().collect::<Vec<_>>().chunks(cut).map(|piece| piece.iter().collect()).collect();
        let found = rows(b',', letters.iter().map(String::as_str)).unwrap();
        let wanted: Rows = (1..).zip(table).collect();
        prop_assert_eq!(found, wanted);
    }

    #[test]
    fn pieces_make_no_difference(text in "[a\",\\n\\r]{0,30}", cut in 1_usize..5) {
        let pieces: Vec<String> = text.chars().collect::<Vec<_>>().chunks(cut).map(|piece| piece.iter().collect()).collect();
        prop_assert_eq!(rows(b',', pieces.iter().map(String::as_str)), rows(b',', [text.as_str()]));
    }

    #[test]
    fn any_text_is_read_or_refused(text in "\\PC{0,20}") {
        if let Ok(number) = NumberSigns::default().read(&Cell::Text(text.as_str().into())) {
            prop_assert_eq!(decimal::parse(text.trim(), 6), Ok(number));
        }
    }
}
