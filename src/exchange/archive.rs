//! Files in a zip with a manifest of their hashes, and such a zip opened with
//! suspicion.
//!
//! The manifest comes last and names every other file with its length and its
//! SHA-256. Opening believes nothing: no more is unpacked of a file than the
//! manifest says it has, no more of all than a bound, and what is not named, is
//! named twice or has another hash is refused, with the reason.
//! Does not know what the files say.

use std::collections::BTreeSet;
use std::io::{Read, Seek, Write};

use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, ZipArchive, ZipWriter};

/// The name of the manifest inside an archive.
pub const MANIFEST: &str = "manifest.json";
/// What an archive of ours calls itself.
pub const FORMAT: &str = "farpoint-archive";
/// The version of the layout described in `docs/export.md`.
pub const VERSION: i64 = 1;
/// How much an archive may unpack to, in bytes, unless somebody says more.
pub const MOST_BYTES: u64 = 2 << 30;
/// A manifest longer than this is none.
const MOST_MANIFEST: u64 = 64 << 20;

/// What an archive holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// What one reader may read of one student.
    Reader,
    /// A whole installation.
    Installation,
}

/// One file of an archive.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Listed {
    /// Where it lies.
    pub path: String,
    /// How many bytes it has.
    pub bytes: u64,
    /// The SHA-256 of its content.
    pub sha256: String,
}

/// What an archive says of itself.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Manifest {
    /// Always [`FORMAT`].
    pub format: String,
    /// The version of the layout.
    pub version: i64,
    /// What it holds.
    pub kind: Kind,
    /// When it was made.
    pub made_at: String,
    /// The newest change of the tables it was made from.
    pub schema: i64,
    /// What is not in it, and why, in words.
    pub not_included: Vec<String>,
    /// Every other file.
    pub files: Vec<Listed>,
}

impl Manifest {
    /// One without files yet.
    #[must_use]
    pub fn new(kind: Kind, made_at: String, schema: i64, not_included: Vec<String>) -> Self {
        Self { format: FORMAT.to_owned(), version: VERSION, kind, made_at, schema, not_included, files: Vec::new() }
    }
}

/// Why an archive could not be made.
#[derive(Debug, thiserror::Error)]
pub enum PackError {
    /// The zip could not be written.
    #[error("the archive could not be written: {0}")]
    Zip(#[from] zip::result::ZipError),
    /// The disk is full, or the like.
    #[error("the archive could not be written: {0}")]
    Io(#[from] std::io::Error),
    /// The manifest could not be written.
    #[error("the manifest could not be written: {0}")]
    Manifest(#[from] serde_json::Error),
}

/// An archive in the making.
pub struct Pack<W: Write + Seek> {
    zip: ZipWriter<W>,
    manifest: Manifest,
}

impl<W: Write + Seek> Pack<W> {
    /// Begins an archive.
    pub fn new(to: W, manifest: Manifest) -> Self {
        Self { zip: ZipWriter::new(to), manifest }
    }

    /// Adds a file. One that is packed already, as pictures and papers are, is only stored.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn add(&mut self, path: &str, content: &[u8]) -> Result<(), PackError> {
        self.write(path, content)?;
        self.manifest.files.push(Listed {
            path: path.to_owned(),
            bytes: u64::try_from(content.len()).unwrap_or(u64::MAX),
            sha256: hex::encode(Sha256::digest(content)),
        });
        Ok(())
    }

    fn write(&mut self, path: &str, content: &[u8]) -> Result<(), PackError> {
        let packed = path.starts_with("attachments/") || path.starts_with("papers/");
        let method = if packed { CompressionMethod::Stored } else { CompressionMethod::Deflated };
        // No time of day inside: the same content gives the same bytes.
        self.zip.start_file(path, SimpleFileOptions::default().compression_method(method))?;
        self.zip.write_all(content)?;
        Ok(())
    }

    /// Says what is not in it after all.
    pub fn leave_out(&mut self, what: String) {
        self.manifest.not_included.push(what);
    }

    /// Writes the manifest and ends the archive.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn finish(mut self) -> Result<W, PackError> {
        let manifest = serde_json::to_vec_pretty(&self.manifest)?;
        self.write(MANIFEST, &manifest)?;
        Ok(self.zip.finish()?)
    }
}

/// Why an archive is refused.
#[derive(Debug, thiserror::Error)]
pub enum Refused {
    /// It is no zip, or a broken one.
    #[error("this is not a zip archive, or it is broken: {0}")]
    NotAnArchive(#[from] zip::result::ZipError),
    /// It could not be read.
    #[error("the archive could not be read: {0}")]
    Io(#[from] std::io::Error),
    /// There is no manifest in it that we wrote.
    #[error("the archive has no {MANIFEST} that this program wrote")]
    NoManifest,
    /// It was made by another version.
    #[error("the archive is of layout {0}; this program reads layout {VERSION}")]
    OtherVersion(i64),
    /// It unpacks to more than it may.
    #[error("the archive unpacks to more than {0} bytes")]
    TooLarge(u64),
    /// A file is longer than the manifest says.
    #[error("{0} unpacks to more than the manifest says")]
    Longer(String),
    /// A file is not what it was.
    #[error("{0} is not what the manifest says: its hash does not match")]
    Hash(String),
    /// A file is missing.
    #[error("{0} is named in the manifest and is not in the archive")]
    Missing(String),
    /// A file is in the archive and not in the manifest, or twice.
    #[error("{0} is in the archive and not in the manifest, or is there twice")]
    Unlisted(String),
}

/// An archive that was opened; its files are checked as they are read.
pub struct Opened<R: Read + Seek> {
    zip: ZipArchive<R>,
    manifest: Manifest,
}

impl<R: Read + Seek> Opened<R> {
    /// Opens an archive and holds its list of files against its manifest.
    ///
    /// # Errors
    /// [`Refused`].
    pub fn open(from: R, most_bytes: u64) -> Result<Self, Refused> {
        let mut zip = ZipArchive::new(from)?;
        let manifest = {
            let mut file = zip.by_name(MANIFEST).map_err(|_| Refused::NoManifest)?;
            let mut text = Vec::new();
            file.by_ref().take(MOST_MANIFEST + 1).read_to_end(&mut text)?;
            if text.len() as u64 > MOST_MANIFEST {
                return Err(Refused::TooLarge(MOST_MANIFEST));
            }
            serde_json::from_slice::<Manifest>(&text).map_err(|_| Refused::NoManifest)?
        };
        if manifest.format != FORMAT {
            return Err(Refused::NoManifest);
        }
        if manifest.version != VERSION {
            return Err(Refused::OtherVersion(manifest.version));
        }
        let total = manifest.files.iter().fold(0_u64, |sum, file| sum.saturating_add(file.bytes));
        if total > most_bytes {
            return Err(Refused::TooLarge(most_bytes));
        }
        let mut named: BTreeSet<&str> = BTreeSet::from([MANIFEST]);
        for file in &manifest.files {
            if !named.insert(&file.path) {
                return Err(Refused::Unlisted(file.path.clone()));
            }
        }
        for name in zip.file_names() {
            let name = name?;
            if !named.contains(name.as_ref()) {
                return Err(Refused::Unlisted(name.into_owned()));
            }
        }
        if zip.len() > named.len() {
            return Err(Refused::Unlisted("a file".to_owned()));
        }
        Ok(Self { zip, manifest })
    }

    /// What it says of itself.
    #[must_use]
    pub const fn manifest(&self) -> &Manifest {
        &self.manifest
    }

    /// The content of a file, if it is what the manifest says.
    ///
    /// # Errors
    /// [`Refused`].
    pub fn read(&mut self, path: &str) -> Result<Vec<u8>, Refused> {
        let missing = || Refused::Missing(path.to_owned());
        let listed = self.manifest.files.iter().find(|file| file.path == path).ok_or_else(missing)?.clone();
        let file = self.zip.by_name(path).map_err(|_| missing())?;
        let mut content = Vec::new();
        // One byte more than it may have shows that there is more.
        file.take(listed.bytes.saturating_add(1)).read_to_end(&mut content)?;
        if content.len() as u64 > listed.bytes {
            return Err(Refused::Longer(path.to_owned()));
        }
        if hex::encode(Sha256::digest(&content)) != listed.sha256 {
            return Err(Refused::Hash(path.to_owned()));
        }
        Ok(content)
    }

    /// Reads every file once, so that nothing is begun with an archive that
    /// turns out to be broken halfway.
    ///
    /// # Errors
    /// [`Refused`].
    pub fn check_all(&mut self) -> Result<(), Refused> {
        let paths: Vec<String> = self.manifest.files.iter().map(|file| file.path.clone()).collect();
        for path in paths {
            self.read(&path)?;
        }
        Ok(())
    }
}
