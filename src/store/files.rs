//! The folder of attachments: how a file gets onto the disk, and off it again.
//!
//! A file is written under a temporary name, flushed, renamed to its id, and the
//! folder is flushed; only then may a row name it. Until the row is kept, an
//! [`OnDisk`] stands for it and takes it away when it is dropped. Does not know
//! what is in a file, nor what it hangs on; that is [`super::attachment`].

use std::fs::{self, File};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::Duration;

use sha2::{Digest, Sha256};

use super::audit::fresh;
use super::{Result, StoreError};
use crate::care::attachment::Checked;
use crate::care::ids::AttachmentId;

/// A file younger than this may belong to a write that is not yet committed by
/// another server on the same folder, so a start leaves it to the next one.
const YOUNG: Duration = Duration::from_secs(600);

/// Where attachments lie.
#[derive(Debug, Clone)]
pub struct Files {
    folder: Arc<Path>,
}

/// A file on the disk that no row names yet.
#[must_use]
pub struct Laid {
    pub(super) id: AttachmentId,
    pub(super) file: OnDisk,
    pub(super) name: String,
    pub(super) media: &'static str,
    pub(super) bytes: i64,
    pub(super) sha256: String,
}

impl Laid {
    /// The id that it will have.
    pub fn id(&self) -> AttachmentId {
        self.id
    }
}

/// A file that goes when this is dropped, unless it was told to stay.
pub(super) struct OnDisk {
    path: PathBuf,
    keep: bool,
}

impl OnDisk {
    pub(super) fn stays(&mut self) {
        self.keep = true;
    }

    pub(super) fn goes(&mut self) {
        self.keep = false;
    }
}

impl Drop for OnDisk {
    fn drop(&mut self) {
        if !self.keep {
            // One that cannot be taken away now is swept away at the next start.
            drop(fs::remove_file(&self.path));
        }
    }
}

impl Files {
    /// Opens the folder, and makes it if it is not there.
    ///
    /// # Errors
    /// When it cannot be made.
    pub fn at(folder: &Path) -> io::Result<Self> {
        fs::create_dir_all(folder)?;
        Ok(Self { folder: folder.into() })
    }

    fn path(&self, id: AttachmentId) -> PathBuf {
        self.folder.join(id.to_string())
    }

    /// Writes a file so that a power cut leaves all of it or nothing.
    ///
    /// # Errors
    /// [`StoreError::File`]; then nothing of it is left.
    pub async fn lay(&self, checked: Checked) -> Result<Laid> {
        let id = fresh(AttachmentId::of);
        let (path, folder) = (self.path(id), Arc::clone(&self.folder));
        // The thread owns the file until it is whole: whoever waits may be gone by then.
        aside(move || {
            let temporary = OnDisk { path: path.with_extension("part"), keep: false };
            let mut file = File::create_new(&temporary.path)?;
            file.write_all(checked.bytes())?;
            file.sync_all()?;
            fs::rename(&temporary.path, &path)?;
            let file = OnDisk { path, keep: false };
            File::open(&folder)?.sync_all()?;
            let bytes = i64::try_from(checked.bytes().len()).map_err(io::Error::other)?;
            let sha256 = hex::encode(Sha256::digest(checked.bytes()));
            Ok(Laid { id, file, name: checked.name().to_owned(), media: checked.kind().media(), bytes, sha256 })
        })
        .await
    }

    /// Writes a file that comes from another installation, under the id it had.
    ///
    /// # Errors
    /// [`StoreError::File`]; then nothing of it is left.
    pub(super) async fn put(&self, id: AttachmentId, content: Vec<u8>) -> Result<OnDisk> {
        let (path, folder) = (self.path(id), Arc::clone(&self.folder));
        aside(move || {
            let temporary = OnDisk { path: path.with_extension("part"), keep: false };
            let mut file = File::create_new(&temporary.path)?;
            file.write_all(&content)?;
            file.sync_all()?;
            fs::rename(&temporary.path, &path)?;
            File::open(&folder)?.sync_all()?;
            Ok(OnDisk { path, keep: false })
        })
        .await
    }

    /// The content of a file, if it is still what was stored.
    pub(super) async fn read(&self, id: AttachmentId, sha256: String) -> Result<Vec<u8>> {
        let path = self.path(id);
        aside(move || {
            let bytes = fs::read(path)?;
            if hex::encode(Sha256::digest(&bytes)) != sha256 {
                return Err(io::Error::new(io::ErrorKind::InvalidData, "not what was stored"));
            }
            Ok(bytes)
        })
        .await
    }

    /// The file of an id, to be taken away with its row.
    pub(super) fn of(&self, id: AttachmentId) -> OnDisk {
        OnDisk { path: self.path(id), keep: true }
    }

    /// Takes away every file that is not among these, but for young ones; gives
    /// how many went.
    pub(super) async fn keep_only(&self, known: Vec<String>) -> Result<usize> {
        let folder = Arc::clone(&self.folder);
        aside(move || {
            // The disk's own clock says what is young: its times are held against its own.
            let probe = OnDisk { path: folder.join("now.part"), keep: false };
            let now = File::create(&probe.path)?.metadata()?.modified()?;
            let mut gone = 0;
            for entry in fs::read_dir(&folder)? {
                let entry = entry?;
                let name = entry.file_name();
                let age = now.duration_since(entry.metadata()?.modified()?).unwrap_or_default();
                if age >= YOUNG && !known.iter().any(|id| name == id.as_str()) {
                    fs::remove_file(entry.path())?;
                    gone += 1;
                }
            }
            Ok(gone)
        })
        .await
    }
}

/// Runs slow work of the disk on a thread of its own.
async fn aside<T: Send + 'static>(work: impl FnOnce() -> io::Result<T> + Send + 'static) -> Result<T> {
    tokio::task::spawn_blocking(work)
        .await
        .map_err(|_| StoreError::File(io::Error::other("the thread of the disk ended")))?
        .map_err(StoreError::File)
}
