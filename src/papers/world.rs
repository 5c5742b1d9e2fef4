//! What a template may reach: itself, the other templates, the paper's data, its pictures, and the fonts.

use std::sync::LazyLock;

use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Duration};
use typst::syntax::{FileId, PathError, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};

/// Template of the proposal.
pub const PROPOSAL: &str = "proposal.typ";
/// Template of the job sheet.
pub const JOB_SHEET: &str = "job_sheet.typ";
/// Template of a house style on trial.
pub const PROOF: &str = "proof.typ";
/// A logo that is a PNG.
pub const LOGO_PNG: &str = "logo.png";
/// A logo that is an SVG.
pub const LOGO_SVG: &str = "logo.svg";

const TEMPLATES: [(&str, &str); 4] = [
    ("sheet.typ", include_str!("templates/sheet.typ")),
    (PROPOSAL, include_str!("templates/proposal.typ")),
    (JOB_SHEET, include_str!("templates/job_sheet.typ")),
    (PROOF, include_str!("templates/proof.typ")),
];

/// Latin with Greek and Cyrillic, Hebrew, Arabic. Licence: `fonts/OFL.txt`.
const FONTS: [&[u8]; 6] = [
    include_bytes!("fonts/NotoSans-Regular.ttf"),
    include_bytes!("fonts/NotoSans-Bold.ttf"),
    include_bytes!("fonts/NotoSansHebrew-Regular.ttf"),
    include_bytes!("fonts/NotoSansHebrew-Bold.ttf"),
    include_bytes!("fonts/NotoSansArabic-Regular.ttf"),
    include_bytes!("fonts/NotoSansArabic-Bold.ttf"),
];

static SOURCES: LazyLock<Vec<Source>> = LazyLock::new(|| {
    let read = |(name, text): &(&str, &str)| Some(Source::new(file(name).ok()?, (*text).to_owned()));
    TEMPLATES.iter().filter_map(read).collect()
});
static LIBRARY: LazyLock<LazyHash<Library>> = LazyLock::new(|| LazyHash::new(Library::default()));
static LETTERS: LazyLock<Letters> = LazyLock::new(Letters::read);

/// The fonts.
pub struct Letters {
    book: LazyHash<FontBook>,
    fonts: Vec<Font>,
}

impl Letters {
    fn read() -> Self {
        let read = |data: &&'static [u8]| Font::new(Bytes::new(*data), 0);
        let fonts: Vec<Font> = FONTS.iter().filter_map(read).collect();
        Self {
            book: LazyHash::new(FontBook::from_fonts(&fonts)),
            fonts,
        }
    }

    /// Whether a font has the letter.
    pub fn have(letter: char) -> bool {
        let holds = |font: &Font| font.info().coverage.contains(letter.into());
        LETTERS.fonts.iter().any(holds)
    }
}

/// The files of one paper.
pub struct Files {
    /// Its template.
    pub main: &'static str,
    /// Its words and figures, JSON.
    pub data: String,
    /// The elevation, SVG.
    pub drawing: String,
    /// The company's picture.
    pub logo: Option<Vec<u8>>,
}

/// One paper on the press.
pub struct Press {
    main: FileId,
    data: Bytes,
    drawing: Bytes,
    logo: Option<Bytes>,
}

fn file(name: &str) -> Result<FileId, PathError> {
    Ok(FileId::new(RootedPath::new(
        VirtualRoot::Project,
        VirtualPath::new(name)?,
    )))
}

impl Press {
    /// Takes the files of a paper. The few names of files are the same for every paper, because the library never
    /// forgets one.
    ///
    /// # Errors
    /// The template's name is not a path.
    pub fn new(files: Files) -> Result<Self, PathError> {
        Ok(Self {
            main: file(files.main)?,
            data: Bytes::new(files.data.into_bytes()),
            drawing: Bytes::new(files.drawing.into_bytes()),
            logo: files.logo.map(Bytes::new),
        })
    }
}

impl World for Press {
    fn library(&self) -> &LazyHash<Library> {
        &LIBRARY
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &LETTERS.book
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        let found = SOURCES.iter().find(|source| source.id() == id);
        found.cloned().ok_or(FileError::AccessDenied)
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        match id.get().vpath().get_without_slash() {
            "content.json" => Ok(self.data.clone()),
            "drawing.svg" => Ok(self.drawing.clone()),
            LOGO_PNG | LOGO_SVG => self.logo.clone().ok_or(FileError::AccessDenied),
            _ => Err(FileError::AccessDenied),
        }
    }

    fn font(&self, index: usize) -> Option<Font> {
        LETTERS.fonts.get(index).cloned()
    }

    /// No clock: the day of a paper stands in its data.
    fn today(&self, _: Option<Duration>) -> Option<Datetime> {
        None
    }
}
