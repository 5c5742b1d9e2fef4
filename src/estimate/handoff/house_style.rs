//! The house style: how the office's papers look and what they say around the figures. The office sets it in
//! versions, without a programmer.

use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

use super::contrast::{LEAST_FOR_TEXT, on_white};
use super::paper_fault::PaperFault;
use super::words::Language;
use crate::job::form::{Field, PARAGRAPH, Shape, Words, list};
use crate::job::{Fault, FaultCode, Faults};

/// Largest logo, bytes.
const LOGO_MOST: usize = 256 * 1024;
/// Most pixels of a side of a logo.
const LOGO_SIDE: u32 = 4_000;
/// Elements of an SVG that draw; their names may have that of a namespace before them.
const DRAWN: [&str; 10] = [
    "path", "rect", "circle", "ellipse", "line", "polyline", "polygon", "text", "image", "use",
];
/// Most paragraphs of a wording block.
const PARAGRAPHS: usize = 40;

/// Most cautions of its own.
const CAUTIONS: usize = 200;

/// How papers look, and what they say around the figures.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct HouseStyle {
    /// The sheet.
    pub paper: Sheet,
    /// Language of the fixed words.
    pub language: Language,
    /// Which prices a proposal tells.
    pub prices: Prices,
    /// Colour of headings and rules.
    pub accent: Colour,
    /// The company's picture.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub logo: Option<Logo>,
    /// Wording blocks.
    #[serde(default)]
    pub wording: Wording,
    /// Cautions of the office's rules in the language of these papers.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub cautions: Vec<OwnCaution>,
}

/// A caution of the office's rules as these papers say it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OwnCaution {
    /// Its code in the rulebook.
    pub code: String,
    /// What the paper says in the place of the rule's own sentence.
    pub text: String,
}

/// A sheet of paper.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Sheet {
    /// 8.5 in by 11 in.
    #[default]
    Letter,
    /// 210 mm by 297 mm.
    A4,
}

/// Which prices a proposal tells.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Prices {
    /// One price for the whole work.
    LumpSum,
    /// A price for each section.
    #[default]
    BySection,
    /// A price for every line.
    AllLines,
}

/// A colour, `#rrggbb`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Colour(String);

impl Default for Colour {
    fn default() -> Self {
        Self("#27424f".to_owned())
    }
}

impl Colour {
    /// The text, `#rrggbb`.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// What is wrong with it, if anything: how it came, and what is asked for.
    fn fault(text: &str) -> Option<(String, &'static str)> {
        let digits = text.strip_prefix('#').filter(|digits| digits.len() == 6);
        let channel = |at: usize| u8::from_str_radix(digits?.get(at..at + 2)?, 16).ok();
        let plain = digits.is_some_and(|digits| digits.bytes().all(|byte| byte.is_ascii_hexdigit()));
        let (true, Some(red), Some(green), Some(blue)) = (plain, channel(0), channel(2), channel(4)) else {
            return Some((text.to_owned(), "a colour such as #27424f"));
        };
        let contrast = on_white(red, green, blue);
        (contrast < LEAST_FOR_TEXT).then(|| {
            let came = format!(
                "{text}, of contrast {}.{:02} on white,",
                contrast / 100,
                contrast % 100
            );
            (
                came,
                "a colour that reads on white, of contrast 4.5 or more (WCAG 2.2, 1.4.3)",
            )
        })
    }
}

/// A picture in base 64.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Logo {
    /// PNG or SVG.
    pub media_type: LogoKind,
    /// The file in base 64.
    pub data: String,
    /// What it shows, for who cannot see it.
    pub alt: String,
}

/// What kind of picture it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum LogoKind {
    /// PNG.
    #[serde(rename = "image/png")]
    Png,
    /// SVG.
    #[serde(rename = "image/svg+xml")]
    Svg,
}

impl Logo {
    /// The file.
    ///
    /// # Errors
    /// It is not base 64; a style that was read has none such.
    pub fn bytes(&self) -> Result<Vec<u8>, PaperFault> {
        STANDARD
            .decode(&self.data)
            .map_err(|fault| PaperFault::unreadable("logo", fault))
    }

    /// What is wrong with it, if anything.
    fn fault(&self) -> Option<String> {
        let bytes = match STANDARD.decode(&self.data) {
            Ok(bytes) => bytes,
            Err(fault) => return Some(format!("is not base 64: {fault}")),
        };
        if bytes.len() > LOGO_MOST {
            return Some(format!(
                "has {} bytes; at most {LOGO_MOST} are taken",
                bytes.len()
            ));
        }
        match self.media_type {
            LogoKind::Png => png_fault(&bytes),
            LogoKind::Svg => svg_fault(&bytes).map(str::to_owned),
        }
    }
}

/// Whether it is an SVG that draws anything: one of the elements that leave something on paper (SVG 2, chapters 5, 10 to
/// 12) is in it.
fn svg_fault(bytes: &[u8]) -> Option<&'static str> {
    let text = std::str::from_utf8(bytes)
        .ok()
        .filter(|text| text.contains("<svg"));
    let Some(text) = text else {
        return Some("is not an SVG");
    };
    let drawn = DRAWN.iter().any(|name| {
        let mut places = text.match_indices(name);
        places.any(|(at, _)| {
            let before = text.get(..at).is_some_and(|head| head.ends_with(['<', ':']));
            let behind = text.get(at + name.len()..).and_then(|rest| rest.chars().next());
            before && behind.is_some_and(|sign| !sign.is_alphanumeric())
        })
    });
    (!drawn).then_some("draws nothing")
}

/// The signature and the head of a PNG (ISO/IEC 15948, 5.2 and 11.2.2).
fn png_fault(bytes: &[u8]) -> Option<String> {
    let side = |from: usize| {
        let digits = bytes.get(from..from + 4)?;
        digits.try_into().ok().map(u32::from_be_bytes)
    };
    let is_png = bytes.starts_with(b"\x89PNG\r\n\x1a\n") && bytes.get(12..16) == Some(b"IHDR");
    match (is_png, side(16), side(20)) {
        (true, Some(width), Some(height)) => {
            let sound = |side| (1..=LOGO_SIDE).contains(&side);
            (!sound(width) || !sound(height))
                .then(|| format!("is {width} by {height} pixels; each side has 1 to {LOGO_SIDE}"))
        }
        _ => Some("is not a PNG".to_owned()),
    }
}

/// What the office says around the figures, one text a paragraph.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Wording {
    /// In front of every offer.
    pub introduction: Vec<String>,
    /// What the office warrants.
    pub warranty: Vec<String>,
    /// Conditions of every offer.
    pub terms: Vec<String>,
    /// Over the signatures, in the place of the usual sentence.
    pub acceptance: Vec<String>,
}

impl HouseStyle {
    /// Reads a style.
    ///
    /// # Errors
    /// Every fault at once.
    pub fn read(value: &Value) -> Result<Self, Faults> {
        let (tree, mut faults) = form().read(value, "");
        let text = |name: &str| tree.get(name).and_then(Value::as_str);
        if let Some((came, allowed)) = text("accent").and_then(Colour::fault) {
            faults.push(fault("/accent", &came, allowed));
        }
        let logo = tree.get("logo").cloned().map(serde_json::from_value::<Logo>);
        if let Some(Ok(Some(message))) = logo.map(|logo| logo.map(|logo| logo.fault())) {
            faults.push(fault("/logo/data", &message, "a PNG or an SVG, in base 64"));
        }
        faults.into_result()?;
        serde_json::from_value(tree).map_err(|mismatch| Faults {
            list: vec![fault("", &mismatch.to_string(), "a house style")],
        })
    }

    /// JSON Schema of a style.
    pub fn schema() -> Value {
        form().schema("House style")
    }
}

fn fault(pointer: &str, came: &str, allowed: &str) -> Fault {
    let came: String = came.chars().take(60).collect();
    Fault {
        pointer: pointer.to_owned(),
        code: FaultCode::BadText,
        message: format!("{came} came, {allowed} is asked for"),
        came,
        allowed: allowed.to_owned(),
    }
}

fn choice(words: &'static [(&'static str, &'static str)]) -> Shape {
    Shape::Choice(Words::Fixed(words))
}

fn form() -> Shape {
    let paragraphs = || list(Shape::Text { max: PARAGRAPH }, 0, PARAGRAPHS);
    let block = |name, title| Field::new(name, title, paragraphs()).or(Value::Array(Vec::new()));
    let wording = vec![
        block("introduction", "In front of every offer, a paragraph each"),
        block("warranty", "What the office warrants"),
        block("terms", "Conditions of every offer"),
        block(
            "acceptance",
            "Over the signatures, in the place of the usual sentence",
        ),
    ];
    let own = Shape::Group(vec![
        Field::new(
            "code",
            "Code of the caution in the rulebook",
            Shape::Code { max: 60 },
        ),
        Field::new(
            "text",
            "What the paper says in the place of the rule's own sentence",
            Shape::Text { max: PARAGRAPH },
        ),
    ]);
    let kinds = choice(&[("image/png", "PNG"), ("image/svg+xml", "SVG")]);
    // Four letters stand for three bytes.
    let data = Shape::Text {
        max: LOGO_MOST.div_ceil(3) * 4,
    };
    let logo = vec![
        Field::new("media_type", "What kind of picture it is", kinds),
        Field::new("data", "The file in base 64", data),
        Field::new("alt", "What it shows, in words", Shape::Text { max: 200 }),
    ];
    let papers = choice(&[
        ("letter", "Letter, 8.5 in by 11 in"),
        ("a4", "A4, 210 mm by 297 mm"),
    ]);
    let languages = choice(&[("en", "English"), ("es", "Spanish")]);
    let prices = choice(&[
        ("lump_sum", "One price for the whole work"),
        ("by_section", "A price for each section"),
        ("all_lines", "A price for every line"),
    ]);
    Shape::Group(vec![
        Field::new("paper", "The sheet", papers).or("letter"),
        Field::new("language", "Language of the fixed words", languages).or("en"),
        Field::new("prices", "Which prices a proposal tells", prices).or("by_section"),
        Field::new("accent", "Colour of headings and rules", Shape::Text { max: 7 }).or("#27424f"),
        Field::new("logo", "The company's picture", Shape::Group(logo)).optional(),
        Field::new("wording", "Wording blocks", Shape::Group(wording)).or(json!({
            "introduction": [], "warranty": [], "terms": [], "acceptance": []
        })),
        Field::new(
            "cautions",
            "Cautions of the office's rules in the language of these papers",
            list(own, 0, CAUTIONS),
        )
        .or(Value::Array(Vec::new())),
    ])
}
