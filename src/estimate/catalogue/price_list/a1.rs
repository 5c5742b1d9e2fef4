//! Names of cells as a spreadsheet shows them: `C7` is the third column of the seventh row.

/// The most columns of a sheet: `XFD`, as ISO/IEC 29500 workbooks have them in practice.
pub const COLUMNS_MOST: usize = 16_384;

/// The letters of the column at `index`, from 0: `A`, `Z`, `AA`.
pub fn letters(index: usize) -> String {
    let mut rest = index;
    let mut letters = Vec::new();
    loop {
        let letter = u8::try_from(rest % 26).unwrap_or_default();
        letters.push(char::from(b'A' + letter));
        match (rest / 26).checked_sub(1) {
            Some(more) => rest = more,
            None => break,
        }
    }
    letters.iter().rev().collect()
}

/// The index, from 0, of the column with these letters; `None` when there is no such column.
pub fn column(letters: &str) -> Option<usize> {
    if letters.is_empty() || letters.len() > 3 || !letters.bytes().all(|byte| byte.is_ascii_uppercase()) {
        return None;
    }
    let number = letters
        .bytes()
        .fold(0, |sum, letter| sum * 26 + usize::from(letter - b'A') + 1);
    (number <= COLUMNS_MOST).then(|| number - 1)
}

/// The name of the cell in the column at `index`, from 0, of the row `row`, from 1.
pub fn cell(index: usize, row: u32) -> String {
    format!("{}{row}", letters(index))
}
