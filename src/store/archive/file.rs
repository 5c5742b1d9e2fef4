//! The file itself: a ZIP of one member a table, and the manifest.

use std::fs::{self, File, OpenOptions};
use std::io::{self, BufRead, BufReader, Read, Seek, SeekFrom, Write};
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

use super::{ArchiveFault, FORM, Kept, Manifest};

const MANIFEST: &str = "manifest.json";
/// Longest manifest that is read.
const MANIFEST_MOST: u64 = 16 * 1024 * 1024;

fn member(table: &str) -> String {
    format!("tables/{table}.jsonl")
}

fn hex(digest: Sha256) -> String {
    digest
        .finalize()
        .iter()
        .map(|byte| format!("{byte:02x}"))
        .collect()
}

/// Where the ZIP goes. After a write that failed nothing more is tried: the file does not stay, and what the ZIP would
/// still write at its end is of no use.
struct Out {
    file: File,
    failed: bool,
}

impl Write for Out {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if self.failed {
            return Ok(bytes.len());
        }
        self.file.write(bytes).inspect_err(|_| self.failed = true)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

impl Seek for Out {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        self.file.seek(to)
    }
}

/// A file that is being written. It gets its name once it is whole and on the disk.
pub(super) struct Writing {
    path: PathBuf,
    unfinished: PathBuf,
    zip: Option<ZipWriter<Out>>,
    kept: Vec<Kept>,
}

/// The lines of the table that is being written.
pub(super) struct Lines<'a> {
    zip: &'a mut ZipWriter<Out>,
    digest: Sha256,
    rows: u64,
}

impl Lines<'_> {
    pub(super) fn put(&mut self, line: &[u8]) -> io::Result<()> {
        for part in [line, b"\n"] {
            self.digest.update(part);
            self.zip.write_all(part)?;
        }
        self.rows = self.rows.saturating_add(1);
        Ok(())
    }
}

impl Writing {
    /// Begins `path`, which must not be there. Only its owner may read it: wages and prices are in it.
    pub(super) fn begin(path: &Path) -> Result<Self, ArchiveFault> {
        if path.exists() {
            return Err(ArchiveFault::Taken(path.to_owned()));
        }
        let mut name = path.as_os_str().to_owned();
        name.push(".unfinished");
        let unfinished = PathBuf::from(name);
        let mut options = OpenOptions::new();
        options.write(true).create(true).truncate(true).mode(0o600);
        let file = options.open(&unfinished);
        let file = file.map_err(|fault| ArchiveFault::file(path, fault))?;
        Ok(Self {
            path: path.to_owned(),
            unfinished,
            zip: Some(ZipWriter::new(Out { file, failed: false })),
            kept: Vec::new(),
        })
    }

    /// Writes a table: `fill` puts its lines.
    pub(super) fn table<E: From<ArchiveFault>>(
        &mut self,
        name: &str,
        columns: Vec<String>,
        fill: impl FnOnce(&mut Lines<'_>) -> Result<(), E>,
    ) -> Result<(), E> {
        let path = self.path.clone();
        let zip = self.begin_member(&member(name))?;
        let mut lines = Lines {
            zip,
            digest: Sha256::new(),
            rows: 0,
        };
        fill(&mut lines)?;
        let (digest, rows) = (lines.digest, lines.rows);
        // What is still in a buffer shows here that it does not fit the disk.
        self.zip_mut()
            .and_then(|zip| zip.flush())
            .map_err(|fault| ArchiveFault::file(&path, fault))?;
        self.kept.push(Kept {
            name: name.to_owned(),
            columns,
            rows,
            sha256: hex(digest),
        });
        Ok(())
    }

    fn zip_mut(&mut self) -> io::Result<&mut ZipWriter<Out>> {
        self.zip
            .as_mut()
            .ok_or_else(|| io::Error::other("it is finished already"))
    }

    fn begin_member(&mut self, name: &str) -> Result<&mut ZipWriter<Out>, ArchiveFault> {
        let path = self.path.clone();
        let fault = |fault| ArchiveFault::file(&path, fault);
        let zip = self.zip_mut().map_err(fault)?;
        zip.start_file(name, SimpleFileOptions::default().large_file(true))
            .map_err(|said| fault(io::Error::other(said)))?;
        Ok(zip)
    }

    /// Writes the manifest, and gives the file its name once it is on the disk.
    pub(super) fn finish(mut self, written_at: String, steps: Vec<String>) -> Result<Manifest, ArchiveFault> {
        let manifest = Manifest {
            form: FORM.to_owned(),
            written_at,
            steps,
            tables: std::mem::take(&mut self.kept),
        };
        let path = self.path.clone();
        let fault = |fault| ArchiveFault::file(&path, fault);
        let text = serde_json::to_vec_pretty(&manifest).map_err(|said| fault(io::Error::other(said)))?;
        self.begin_member(MANIFEST)?.write_all(&text).map_err(fault)?;
        let zip = self.zip.take();
        let zip = zip.ok_or_else(|| fault(io::Error::other("it is finished already")))?;
        let out = zip.finish().map_err(|said| fault(io::Error::other(said)))?;
        out.file.sync_all().map_err(fault)?;
        if self.path.exists() {
            return Err(ArchiveFault::Taken(self.path.clone()));
        }
        fs::rename(&self.unfinished, &self.path).map_err(fault)?;
        let folder = self.path.parent().filter(|folder| !folder.as_os_str().is_empty());
        let folder = File::open(folder.unwrap_or(Path::new(".")));
        folder.and_then(|folder| folder.sync_all()).map_err(fault)?;
        Ok(manifest)
    }
}

/// What was not finished does not stay, least of all on a disk that is full.
impl Drop for Writing {
    fn drop(&mut self) {
        if self.zip.take().is_some() || self.unfinished.exists() {
            let _ = fs::remove_file(&self.unfinished);
        }
    }
}

/// A file that was written.
pub(super) struct Written {
    path: PathBuf,
    zip: ZipArchive<BufReader<File>>,
    pub(super) manifest: Manifest,
}

impl Written {
    /// Opens an archive and holds every table against its SHA-256.
    pub(super) fn open(path: &Path) -> Result<Self, ArchiveFault> {
        let file = File::open(path).map_err(|fault| ArchiveFault::file(path, fault))?;
        let damaged = |fault: &dyn std::fmt::Display| ArchiveFault::damaged(path, fault);
        let mut zip = ZipArchive::new(BufReader::new(file)).map_err(|fault| damaged(&fault))?;
        let mut text = Vec::new();
        zip.by_name(MANIFEST)
            .map_err(|fault| damaged(&format_args!("its manifest cannot be read: {fault}")))?
            .take(MANIFEST_MOST)
            .read_to_end(&mut text)
            .map_err(|fault| damaged(&format_args!("its manifest cannot be read: {fault}")))?;
        let manifest: Manifest = serde_json::from_slice(&text)
            .map_err(|fault| damaged(&format_args!("its manifest cannot be read: {fault}")))?;
        if manifest.form != FORM {
            return Err(damaged(&format_args!(
                "it calls itself {:?}, and {FORM:?} is read",
                manifest.form
            )));
        }
        let mut written = Self {
            path: path.to_owned(),
            zip,
            manifest,
        };
        for kept in written.manifest.tables.clone() {
            written.check(&kept)?;
        }
        Ok(written)
    }

    fn check(&mut self, kept: &Kept) -> Result<(), ArchiveFault> {
        let mut digest = Sha256::new();
        let mut rows: u64 = 0;
        self.lines(&kept.name, |line| {
            digest.update(line);
            rows = rows.saturating_add(1);
            Ok::<_, ArchiveFault>(())
        })?;
        let word = match (rows == kept.rows, hex(digest) == kept.sha256) {
            (true, true) => return Ok(()),
            (false, _) => format!("{} has {rows} rows and should have {}", kept.name, kept.rows),
            (true, false) => format!("{} is not what was written: its SHA-256 is another", kept.name),
        };
        Err(ArchiveFault::damaged(&self.path, word))
    }

    /// Hands every line of a table to `take`, with its line end.
    pub(super) fn lines<E: From<ArchiveFault>>(
        &mut self,
        table: &str,
        mut take: impl FnMut(&[u8]) -> Result<(), E>,
    ) -> Result<(), E> {
        let path = &self.path;
        let damaged =
            |fault: &dyn std::fmt::Display| ArchiveFault::damaged(path, format_args!("{table}: {fault}"));
        let member = self
            .zip
            .by_name(&member(table))
            .map_err(|fault| damaged(&fault))?;
        let mut lines = BufReader::new(member);
        let mut line = Vec::new();
        loop {
            line.clear();
            let read = lines.read_until(b'\n', &mut line);
            if read.map_err(|fault| damaged(&fault))? == 0 {
                return Ok(());
            }
            take(&line)?;
        }
    }
}
