//! Texts with letters that no font of the papers has, told so that the office finds them.

/// A text of a paper that cannot be printed whole.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unprintable {
    /// The names of the members of the paper's contents in which it stands, from the outermost.
    pub place: Vec<String>,
    /// The text.
    pub text: String,
    /// Its letters that no font has, each once.
    pub letters: Vec<char>,
}

/// What is done about letters that no font has.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Letters {
    /// There is no paper: an office would rather know before its customer does.
    #[default]
    All,
    /// A box stands for each.
    Boxes,
}

/// Most texts that are told one by one, and most letters of each.
const MOST: (usize, usize) = (5, 40);

/// Members of the contents, and what they are to the office.
const PLACES: [(&str, &str); 22] = [
    ("head/company_address", "the company's address"),
    ("head/company_reach", "the company's telephone and mail"),
    ("head/company", "the company's name"),
    ("head/licences", "the company's licences"),
    ("head/customer", "the customer's name and address"),
    ("head/site", "the site's name and address"),
    ("head/job", "the title of the job"),
    ("introduction", "the introduction"),
    ("changes", "the changes"),
    ("sections", "the priced work"),
    ("alternates", "the alternates"),
    ("not_included", "what is not included"),
    ("not_in_scope", "what is not included"),
    ("assumptions", "the assumptions"),
    ("payments", "the payments"),
    ("warranty", "the warranty"),
    ("terms", "the terms"),
    ("notes", "the remarks"),
    ("closing", "the closing words"),
    ("acceptance", "the words of acceptance"),
    ("material", "the material"),
    ("tasks", "the tasks"),
];

impl Unprintable {
    /// Where it stands, in the office's words.
    fn place(&self) -> &'static str {
        let place = self.place.join("/");
        let found = PLACES.iter().find(|(name, _)| place.starts_with(name));
        found.map_or("the text of the paper", |(_, words)| words)
    }
}

impl std::fmt::Display for Unprintable {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let short: String = self.text.chars().take(MOST.1).collect();
        let more = if short.len() < self.text.len() { "…" } else { "" };
        write!(
            f,
            "{} (in {}, “{short}{more}”)",
            named(&self.letters),
            self.place()
        )
    }
}

/// Letters, each with its number.
fn named(letters: &[char]) -> String {
    let letters = letters
        .iter()
        .map(|letter| format!("{letter} U+{:04X}", u32::from(*letter)));
    letters.collect::<Vec<_>>().join(", ")
}

/// What is told of `all`, a sentence.
pub fn told(all: &[Unprintable]) -> String {
    let first = all.iter().take(MOST.0).map(Unprintable::to_string);
    let first = first.collect::<Vec<_>>().join("; ");
    let more = match all.len().saturating_sub(MOST.0) {
        0 => String::new(),
        1 => "; and in one more text".to_owned(),
        more => format!("; and in {more} more texts"),
    };
    format!("no font of the papers has {first}{more}")
}
