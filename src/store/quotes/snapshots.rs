//! What estimates were made from, kept by digest. A long text is kept in parts, and a part that two texts have in common is
//! kept once, so that a catalogue of ten thousand items does not stand there whole for every price that changes.

use std::collections::{BTreeMap, BTreeSet};

use diesel::prelude::*;
use estimate::quote::canonical::Digest;

use crate::store::connection::{Conn, each};
use crate::store::schema::{snapshot_parts, snapshots};
use crate::store::{Store, StoreFault};

/// Digits of a digest.
const DIGITS: usize = 64;
/// Where a text may be cut: between two entries of a list.
const SEAM: &[u8] = b"},{";
/// Bytes behind a seam that say whether it is cut there: the same text is cut at the same places, whatever goes before. An
/// entry begins with what tells it from others, such as its code.
const WINDOW: usize = 48;
/// One seam in so many is cut.
const SEAMS: u32 = 64;
/// Least bytes of a part but the last, and the most where there is a seam: entries that are all alike say nothing.
const LEAST: usize = 4_096;
const MOST: usize = 65_536;

/// A part of what estimates are made from.
#[derive(Debug, Clone, PartialEq, Eq, Queryable, Selectable, serde::Serialize)]
#[diesel(table_name = snapshots)]
pub struct SnapshotRow {
    /// Digest of the content.
    pub digest: String,
    /// catalogue, policy or rulebook.
    pub kind: String,
    /// The bytes that were digested.
    #[serde(skip)]
    pub content: String,
    /// When it was put in.
    pub created_at: String,
}

#[derive(Insertable)]
#[diesel(table_name = snapshot_parts)]
struct PartRow<'a> {
    digest: &'a str,
    content: &'a str,
}

impl Store {
    /// The snapshot of this digest.
    ///
    /// # Errors
    /// The database does not answer, or a part of it is not there.
    pub fn snapshot(&self, digest: &str) -> Result<Option<SnapshotRow>, StoreFault> {
        self.read(|conn| {
            let found = snapshots::table
                .filter(snapshots::digest.eq(digest))
                .select((SnapshotRow::as_select(), snapshots::parts));
            let Some((mut row, parts)) = found.first::<(SnapshotRow, String)>(conn).optional()? else {
                return Ok(None);
            };
            let names: Vec<&str> = parts
                .as_bytes()
                .chunks(DIGITS)
                .filter_map(|name| std::str::from_utf8(name).ok())
                .collect();
            let wanted = snapshot_parts::table.filter(snapshot_parts::digest.eq_any(&names));
            let found: Vec<(String, String)> = wanted
                .select((snapshot_parts::digest, snapshot_parts::content))
                .load(conn)?;
            let found: BTreeMap<String, String> = found.into_iter().collect();
            for name in names {
                let part = found.get(name);
                let missing = || StoreFault::corrupt("snapshot_parts", name, "nothing: it is not there");
                row.content.push_str(part.ok_or_else(missing)?);
            }
            Ok(Some(row))
        })
    }
}

/// Puts a snapshot in; nothing where it is there already.
pub(super) fn insert(conn: &mut Conn, row: &SnapshotRow) -> Result<usize, StoreFault> {
    let known = snapshots::table.filter(snapshots::digest.eq(&row.digest));
    if known.count().get_result::<i64>(conn)? > 0 {
        return Ok(0);
    }
    let cut = cut(&row.content);
    let (content, parts) = match cut.as_slice() {
        [whole] => (*whole, String::new()),
        parts => ("", insert_parts(conn, parts)?),
    };
    let values = (
        snapshots::digest.eq(&row.digest),
        snapshots::kind.eq(&row.kind),
        snapshots::content.eq(content),
        snapshots::created_at.eq(&row.created_at),
        snapshots::parts.eq(&parts),
    );
    Ok(each!(conn, conn => diesel::insert_into(snapshots::table)
        .values(values)
        .on_conflict_do_nothing()
        .execute(conn))?)
}

/// Puts in those parts that are not there, and gives the names of all.
fn insert_parts(conn: &mut Conn, parts: &[&str]) -> Result<String, StoreFault> {
    let names: Vec<String> = parts.iter().map(|part| digest(part)).collect();
    let mut known: BTreeSet<String> = snapshot_parts::table
        .filter(snapshot_parts::digest.eq_any(&names))
        .select(snapshot_parts::digest)
        .load(conn)?
        .into_iter()
        .collect();
    for (digest, content) in names.iter().zip(parts) {
        if !known.insert(digest.clone()) {
            continue;
        }
        let row = PartRow { digest, content };
        each!(conn, conn => diesel::insert_into(snapshot_parts::table)
            .values(&row)
            .on_conflict_do_nothing()
            .execute(conn))?;
    }
    Ok(names.concat())
}

fn digest(text: &str) -> String {
    Digest::of(text.as_bytes()).to_string()
}

/// Cuts a text at some of its seams.
fn cut(text: &str) -> Vec<&str> {
    let mut parts = Vec::new();
    let (mut rest, mut begun) = (text, 0_usize);
    let bytes = text.as_bytes();
    for (place, seam) in bytes.windows(SEAM.len()).enumerate() {
        let end = place.saturating_add(2);
        let length = end.saturating_sub(begun);
        if seam != SEAM || length < LEAST {
            continue;
        }
        let behind = bytes.get(end..).unwrap_or_default();
        if length < MOST && !is_cut(behind.get(..WINDOW).unwrap_or(behind)) {
            continue;
        }
        if let Some((part, after)) = rest.split_at_checked(length) {
            parts.push(part);
            (rest, begun) = (after, end);
        }
    }
    parts.push(rest);
    parts
}

/// Whether a seam is one of those that are cut, by the FNV-1a hash of what stands behind it.
fn is_cut(behind: &[u8]) -> bool {
    let hash = behind.iter().fold(0x811c_9dc5_u32, |hash, byte| {
        (hash ^ u32::from(*byte)).wrapping_mul(0x0100_0193)
    });
    // The upper half of the hash is the better mixed one.
    (hash >> 16) % SEAMS == 0
}
