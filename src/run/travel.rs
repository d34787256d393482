//! Moving an installation: everything into one archive, and an archive into an
//! installation that is empty.
//!
//! Both are the operator's and stand in the log; neither is reached by a page.
//! Nothing of an archive is kept unless all of it is sound.

use std::collections::BTreeMap;
use std::fs::{self, File, OpenOptions};
use std::path::{Path, PathBuf};

use anyhow::{Context, bail};

use crate::config::Config;
use crate::exchange::archive::{Kind, Manifest, Opened, Pack};
use crate::store::{Audit, Store, installation};

/// Where a table lies in an archive.
const TABLES: &str = "tables/";
/// Where a file lies in an archive.
const FILES: &str = "attachments/";

/// Writes everything into a new archive in a folder.
///
/// # Errors
/// Says which setting to mend, or what could not be written.
pub async fn export(config: Config, to: &Path) -> anyhow::Result<()> {
    let store = super::open(&config).await?;
    let (path, rows, files) = export_store(&store, to).await?;
    store.db().close().await;
    println!("{rows} rows and {files} attached files are in {}", path.display());
    println!(
        "It holds everything, and nothing of it is encrypted: keep it where the installation itself would be safe."
    );
    Ok(())
}

/// The same for an open store; gives where it lies and how much it holds.
///
/// # Errors
/// What could not be read or written; then no archive is left.
pub async fn export_store(store: &Store, to: &Path) -> anyhow::Result<(PathBuf, usize, usize)> {
    // The log says so before anything is read, so that the copy says so, too.
    let tx = store.tx().await?;
    tx.commit(Audit::operator("export everything")).await?;
    let mut snapshot = store.snapshot().await?;
    let left_out = installation::LEFT_OUT.iter().map(|(name, why)| format!("table {name}: {why}")).collect();
    let schema = installation::version(&mut snapshot).await?;
    let manifest = Manifest::new(Kind::Installation, snapshot.now().to_string(), schema, left_out);
    let tables = installation::dump(&mut snapshot, store.db().engine()).await?;
    let attached = installation::attached(&mut snapshot).await?;
    let stamp = snapshot.now().to_zoned_datetime(snapshot.zone().clone()).strftime("%Y-%m-%d-%H%M%S").to_string();
    drop(snapshot);
    fs::create_dir_all(to).with_context(|| format!("--to: the folder {} cannot be made", to.display()))?;
    let path = to.join(format!("farpoint-{stamp}.zip"));
    let part = path.with_extension("part");
    let written = write(store, &part, manifest, &tables, &attached).await;
    if let Err(error) = written {
        drop(fs::remove_file(&part));
        return Err(error.context(format!("--to: the archive could not be written to {}", to.display())));
    }
    fs::rename(&part, &path)?;
    Ok((path, tables.iter().map(|table| table.rows).sum(), attached.len()))
}

async fn write(
    store: &Store,
    part: &Path,
    manifest: Manifest,
    tables: &[installation::Dumped],
    attached: &[installation::Attached],
) -> anyhow::Result<()> {
    let mut pack = Pack::new(private(part)?, manifest);
    for table in tables {
        pack.add(&format!("{TABLES}{}.jsonl", table.name), &table.lines)?;
    }
    for one in attached {
        let content = one.content(store).await.context("an attached file is gone or is not what was stored")?;
        pack.add(&format!("{FILES}{}", one.id), &content)?;
    }
    pack.finish()?.sync_all()?;
    Ok(())
}

/// A new file that only its owner may read, where the system knows that.
fn private(path: &Path) -> std::io::Result<File> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)
}

/// Reads an archive into an empty installation.
///
/// # Errors
/// Why the archive is refused; then the installation is as it was.
pub async fn import(config: Config, from: &Path, most_bytes: u64) -> anyhow::Result<()> {
    let store = super::open(&config).await?;
    let done = import_store(&store, from, most_bytes).await;
    store.db().close().await;
    let (rows, files) = done?;
    println!("{rows} tables and {files} attached files are read in. Everybody signs in again.");
    Ok(())
}

/// The same for an open store; gives how many tables and files were read.
///
/// # Errors
/// Why the archive is refused; then nothing of it is kept.
pub async fn import_store(store: &Store, from: &Path, most_bytes: u64) -> anyhow::Result<(usize, usize)> {
    let file = File::open(from).with_context(|| format!("--from: {} cannot be opened", from.display()))?;
    let mut opened = Opened::open(file, most_bytes).context("--from: refused, nothing was kept")?;
    if opened.manifest().kind != Kind::Installation {
        bail!("--from: refused, nothing was kept: this is what one reader took along, not an installation");
    }
    let mut snapshot = store.snapshot().await?;
    let (ours, theirs) = (installation::version(&mut snapshot).await?, opened.manifest().schema);
    drop(snapshot);
    if ours != theirs {
        bail!(
            "--from: refused, nothing was kept: the archive is of tables {theirs}, this program of {ours}. \
             Import it with the program that made it, then let this one bring the database up to date."
        );
    }
    opened.check_all().context("--from: refused, nothing was kept")?;
    let paths: Vec<String> = opened.manifest().files.iter().map(|file| file.path.clone()).collect();
    let (mut tables, mut files) = (BTreeMap::new(), BTreeMap::new());
    for path in paths {
        let content = opened.read(&path).context("--from: refused, nothing was kept")?;
        if let Some(name) = path.strip_prefix(TABLES).and_then(|name| name.strip_suffix(".jsonl")) {
            tables.insert(name.to_owned(), content);
        } else if let Some(id) = path.strip_prefix(FILES) {
            files.insert(id.to_owned(), content);
        } else {
            bail!("--from: refused, nothing was kept: {path} is neither a table nor an attached file");
        }
    }
    let counts = (tables.len(), files.len());
    let mut tx = store.tx().await?;
    installation::load(&mut tx, store, tables, files).await.context("--from: refused, nothing was kept")?;
    tx.commit(Audit::operator("import everything")).await?;
    Ok(counts)
}
