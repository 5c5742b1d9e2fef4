//! Counts in a sentence.

/// `count` of what is called `one` when it is alone: `1 fault`, `3 faults`, `2 entries`.
pub fn counted(count: usize, one: &str) -> String {
    match (count, one.strip_suffix('y')) {
        (1, _) => format!("1 {one}"),
        (_, Some(stem)) if !stem.ends_with(['a', 'e', 'o', 'u']) => format!("{count} {stem}ies"),
        _ => format!("{count} {one}s"),
    }
}
