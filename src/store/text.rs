//! Lists by a text that occurs in their rows. SQLite looks a text up by its trigrams where few rows have them; PostgreSQL
//! weighs by itself where to begin.

use diesel::prelude::*;
use diesel::sql_types::{BigInt, Text};

use super::StoreFault;

/// Rows with a text up to which they are looked up by the text first; with more, a page is soon full in its own order.
const FEW: i64 = 10_000;
/// Most trigrams of a text that are looked up; the text itself is held against what they find.
const TRIGRAMS_MOST: usize = 32;

#[derive(QueryableByName)]
struct Found {
    #[diesel(sql_type = BigInt)]
    found: i64,
}

/// `text` as a pattern that it occurs in, for LIKE with the escape sign `\`.
pub(super) fn pattern(text: &str) -> String {
    let mut pattern = String::from("%");
    for sign in text.to_lowercase().chars() {
        if matches!(sign, '%' | '_' | '\\') {
            pattern.push('\\');
        }
        pattern.push(sign);
    }
    pattern.push('%');
    pattern
}

/// The trigrams of a text, as an index of texts is asked for all of them; none where it is too short for one.
pub(super) fn trigrams(text: &str) -> Option<String> {
    let signs: Vec<char> = text.to_lowercase().chars().collect();
    let quoted = |three: &[char]| {
        let three: String = three.iter().collect();
        format!("\"{}\"", three.replace('"', "\"\""))
    };
    let all: Vec<String> = signs.windows(3).take(TRIGRAMS_MOST).map(quoted).collect();
    (!all.is_empty() && !signs.contains(&'\0')).then(|| all.join(" AND "))
}

/// Whether few rows of an index of texts have these trigrams.
pub(super) fn few_have(
    conn: &mut SqliteConnection,
    index: &'static str,
    trigrams: &str,
) -> Result<bool, StoreFault> {
    let count =
        format!("SELECT count(*) AS found FROM (SELECT 1 FROM {index} WHERE {index} MATCH ? LIMIT ?)");
    let counted: Found = diesel::sql_query(count)
        .bind::<Text, _>(trigrams)
        .bind::<BigInt, _>(FEW + 1)
        .get_result(conn)?;
    Ok(counted.found <= FEW)
}
