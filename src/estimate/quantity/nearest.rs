//! The known name closest to a mistyped one, for "did you mean".

/// Of codes with no more letters and figures than these one letter for another makes another code.
const SHORT: usize = 3;

/// The candidate with the fewest single-letter edits to `wanted` (a swap of neighbours counts as
/// one), if it is close enough to be a likely slip: at most a third of the longer name. What both
/// begin with, up to a `:`, `/` or `.`, is no likeness.
pub fn name<'a>(wanted: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let wanted = letters(wanted);
    candidates
        .into_iter()
        .filter_map(|candidate| Some((edits(&wanted, &letters(candidate))?, candidate)))
        .min_by_key(|(edits, candidate)| (*edits, candidate.len()))
        .map(|(_, candidate)| candidate)
}

fn letters(text: &str) -> Vec<char> {
    text.chars().flat_map(char::to_lowercase).take(80).collect()
}

/// Edits between two names, where they are few enough for a slip.
fn edits(wanted: &[char], known: &[char]) -> Option<usize> {
    let same = wanted.iter().zip(known).take_while(|(a, b)| a == b).count();
    let mut parts = wanted.get(..same)?.iter();
    let begun = parts.rposition(|sign| matches!(sign, ':' | '/' | '.'));
    let from = begun.map_or(0, |at| at + 1);
    let (wanted, known) = (wanted.get(from..)?, known.get(from..)?);
    let allowed = (wanted.len().max(known.len()) / 3).max(1);
    if wanted.len().abs_diff(known.len()) > allowed {
        return None;
    }
    let edits = distance(wanted, known);
    let near = edits <= allowed && edits < known.len() && (edits == 0 || !is_another(wanted, known));
    near.then_some(edits)
}

/// Of short names of one length a letter for another makes another name, and no slip: `kg` is not `mg`. A swap of
/// neighbours is one, and, of three letters, a slip behind the first.
fn is_another(wanted: &[char], known: &[char]) -> bool {
    if wanted.len() != known.len() || known.len() > 3 {
        return false;
    }
    let mut letters = [wanted.to_vec(), known.to_vec()];
    letters.iter_mut().for_each(|letters| letters.sort_unstable());
    let swapped = letters[0] == letters[1];
    !swapped && (known.len() < 3 || wanted.first() != known.first())
}

/// The same as the end of a sentence; empty when nothing is close.
pub fn hint<'a>(wanted: &str, candidates: impl IntoIterator<Item = &'a str>) -> String {
    name(wanted, candidates).map_or_else(String::new, |near| format!("; did you mean {near}?"))
}

/// The only candidate with the same number in it: of `45x` the size is right, and the letters are not.
pub fn of_number<'a>(wanted: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let digits = |text: &str| -> String { text.chars().filter(char::is_ascii_digit).collect() };
    let number = digits(wanted);
    let mut same = candidates
        .into_iter()
        .filter(|candidate| !number.is_empty() && digits(candidate) == number);
    let first = same.next()?;
    same.next().is_none().then_some(first)
}

/// Likely slips, the nearest first, at most `most` of them.
pub fn few<'a>(wanted: &str, candidates: impl IntoIterator<Item = &'a str>, most: usize) -> Vec<&'a str> {
    let wanted = letters(wanted);
    let near = candidates
        .into_iter()
        .filter_map(|candidate| Some((edits(&wanted, &letters(candidate))?, candidate)));
    let mut found: Vec<(usize, &str)> = near.collect();
    found.sort();
    found
        .into_iter()
        .take(most)
        .map(|(_, candidate)| candidate)
        .collect()
}

/// A code that `wanted` is but for one letter at most, whatever its capitals and dashes: a slip of the keyboard. Other figures
/// make another size, and no slip.
pub fn slip<'a>(wanted: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let plain = |text: &str| -> Vec<char> {
        letters(text)
            .into_iter()
            .filter(|sign| sign.is_alphanumeric())
            .collect()
    };
    let figures = |word: &[char]| -> String { word.iter().filter(|sign| sign.is_ascii_digit()).collect() };
    let wanted = plain(wanted);
    let near = candidates.into_iter().filter_map(|candidate| {
        let known = plain(candidate);
        let alike = known.len().abs_diff(wanted.len()) <= 1 && figures(&known) == figures(&wanted);
        let edits = alike.then(|| distance(&wanted, &known))?;
        (edits <= 1 && known.len() > SHORT).then_some((edits, candidate))
    });
    near.min_by_key(|(edits, _)| *edits)
        .map(|(_, candidate)| candidate)
}

/// Edits between two words: insert, delete, replace, swap neighbours (optimal string alignment).
fn distance(from: &[char], to: &[char]) -> usize {
    let mut before: Vec<usize> = Vec::new();
    let mut last: Vec<usize> = (0..=to.len()).collect();
    for (row, a) in from.iter().enumerate() {
        let mut this = vec![row + 1];
        for (column, b) in to.iter().enumerate() {
            let cell = |line: &[usize], at: usize| line.get(at).copied().unwrap_or(usize::MAX / 2);
            let mut best = (cell(&last, column) + usize::from(a != b))
                .min(cell(&last, column + 1) + 1)
                .min(cell(&this, column) + 1);
            if let (Some(r), Some(c)) = (row.checked_sub(1), column.checked_sub(1))
                && from.get(r) == Some(b)
                && to.get(c) == Some(a)
            {
                best = best.min(cell(&before, c) + 1);
            }
            this.push(best);
        }
        before = std::mem::replace(&mut last, this);
    }
    last.last().copied().unwrap_or(0)
}
