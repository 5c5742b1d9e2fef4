//! Counts in a sentence.

/// `count` of what is called `one` when it is alone: `1 fault`, `3 faults`.
pub fn counted(count: usize, one: &str) -> String {
    let end = if count == 1 { "" } else { "s" };
    format!("{count} {one}{end}")
}
