//! An installation that moves: everything out, into an empty one, and nothing is
//! lost; what is not sound is refused, and nothing of it is kept.

use std::fs;
use std::io::{Cursor, Read, Write};
use std::path::{Path, PathBuf};

use farpoint::exchange::archive::{Kind, MOST_BYTES, Manifest, Opened, Pack};
use farpoint::run::{export_store, import_store};
use sqlx::Row;
use tempfile::TempDir;
use zip::write::SimpleFileOptions;
use zip::{ZipArchive, ZipWriter};

use super::pages;
use crate::lap::{DISTANCE, NEAR, Step, Team};
use crate::world::World;

/// A student on two tracks, with an amendment, a superseded prescription, a scan
/// that hangs on a consent, and both consents withdrawn.
pub(super) async fn a_full_world(world: &World) -> Team {
    let team = a_long_record(world).await;
    world.withdraws(&team.parent, &team.pupil).await;
    for (what, sql) in [
        ("tracks with a loan", "select count(distinct track) from loan"),
        ("amendments with a reason", "select count(*) from amendment where reason <> ''"),
        (
            "superseded prescriptions",
            "select count(*) from document_mark where document_kind = 'prescription' and mark = 'superseded'",
        ),
        ("withdrawn consents", "select count(*) from consent where withdrawn_at is not null"),
        ("attached files", "select count(*) from attachment"),
    ] {
        let mut view = world.store().db().begin_read().await.expect("a view");
        let found: i64 = sqlx::query_scalar(sql).fetch_one(&mut *view).await.expect("a count");
        let least = if what.starts_with("tracks") { 2 } else { 1 };
        assert!(found >= least, "{what}: {found}");
    }
    team
}

/// The same with its consents still in force.
pub(super) async fn a_long_record(world: &World) -> Team {
    let team = Team::up_to(world, &DISTANCE, Step::OwnDevice).await;
    team.wants_to_see(&NEAR).await;
    world.passes(jiff::SignedDuration::from_mins(1));
    let draft = team.evaluates(&NEAR).await;
    team.signs_evaluation(&draft).await;
    team.stocks_match(world, &NEAR).await;
    team.lends(&NEAR).await;
    world.passes(jiff::SignedDuration::from_mins(1));
    let old = world.newest("prescription:state:active", &team.pupil).await.expect("a prescription");
    let old = team.at(&format!("/prescription/{old}"));
    let amended = [("text_limits", "Sitting only."), ("amend_reason", "Standing was not meant.")];
    team.clinician.presses(&format!("{old}/correct"), "Amend it", &amended).await.redirected_to();
    let why = [("supersede_reason", "The light was forgotten.")];
    let draft = team.clinician.presses(&format!("{old}/correct"), "Write the new one", &why).await.redirected_to();
    team.clinician.presses(&draft, "Save the draft", &[("lighting", "A lamp on the left")]).await.redirected_to();
    team.signs_prescription(&draft).await;
    world.attaches_scan_of_consent(&team.teacher, &team.pupil).await;
    team
}

pub(super) async fn exported(world: &World) -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let (path, rows, _) = export_store(world.store(), folder.path()).await.expect("it is written");
    assert!(rows > 20, "{rows} rows");
    (folder, path)
}

/// The technical log, line by line with its chain.
async fn log(world: &World) -> Vec<(i64, String, String)> {
    let mut view = world.store().db().begin_read().await.expect("a view");
    let rows = sqlx::query("select seq, action, hash from audit order by seq").fetch_all(&mut *view).await;
    rows.expect("the log").iter().map(|row| (row.get(0), row.get(1), row.get(2))).collect()
}

fn attached(world: &World) -> Vec<(String, Vec<u8>)> {
    let read = |name: String| {
        let bytes = fs::read(world.attachments().join(&name)).expect("the file");
        (name, bytes)
    };
    world.files().into_iter().map(read).collect()
}

/// What an empty installation is like after a refusal: as before.
async fn refused(empty: &World, archive: &Path, words: &str) {
    refused_at(empty, archive, MOST_BYTES, words).await;
}

async fn refused_at(empty: &World, archive: &Path, most_bytes: u64, words: &str) {
    let before = (empty.content().await, log(empty).await, empty.files());
    let error = import_store(empty.store(), archive, most_bytes).await.expect_err("it is refused");
    let told = format!("{error:#}");
    assert!(told.contains(words), "{told}\nwanted: {words}");
    assert!(told.contains("nothing was kept"), "{told}");
    assert_eq!((empty.content().await, log(empty).await, empty.files()), before, "{words}: something was kept");
}

#[tokio::test]
async fn nothing_is_lost_on_the_way() {
    let world = World::new().await;
    let team = a_full_world(&world).await;
    let (_folder, path) = exported(&world).await;
    #[cfg(unix)]
    assert_eq!(
        std::os::unix::fs::PermissionsExt::mode(&fs::metadata(&path).expect("the file").permissions()) & 0o777,
        0o600
    );
    let there = World::new().await;
    // The same moment there as here, so that both read the same stage.
    there.passes(world.store().clock().now().duration_since(there.store().clock().now()));
    import_store(there.store(), &path, MOST_BYTES).await.expect("it is read in");
    let (from, to) = (world.content().await, there.content().await);
    let lost: Vec<_> = from.keys().filter(|table| from[*table] != to[*table]).collect();
    assert!(lost.is_empty() && from.len() == to.len(), "{lost:?}");
    assert_eq!(attached(&world), attached(&there));
    assert!(!attached(&there).is_empty());
    // The log goes on where it was, and says what was done on either side.
    let (from, to) = (log(&world).await, log(&there).await);
    assert_eq!(to[..from.len()], from[..]);
    assert_eq!(from.last().expect("a line").1, "export everything");
    assert_eq!((to.len(), to[from.len()].1.as_str()), (from.len() + 1, "import everything"));
    // Read out of the copy, it is the same again but for the lines of the log.
    let (_second, again) = exported(&there).await;
    let file = |path: &Path| Opened::open(fs::File::open(path).expect("the archive"), MOST_BYTES).expect("ours");
    let (mut one, mut two) = (file(&path), file(&again));
    let names: Vec<String> = one.manifest().files.iter().map(|file| file.path.clone()).collect();
    for name in names.iter().filter(|name| !name.starts_with("tables/audit")) {
        assert_eq!(one.read(name).expect("whole"), two.read(name).expect("whole"), "{name}");
    }
    // Everybody signs in again, and finds the record as it was.
    assert_eq!(there.count("session").await, 0);
    let teacher = team.teacher.through(there.router());
    teacher.signs_in().await;
    let (before, after) = (team.teacher.opens(&team.at("")).await.ok(), teacher.opens(&team.at("")).await.ok());
    assert_eq!(before.seen(), after.seen());
}

#[tokio::test]
async fn an_installation_somebody_works_in_is_not_filled() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    let (_folder, path) = exported(&world).await;
    let other = World::new().await;
    other.vision_teacher().await;
    refused(&other, &path, "this installation is not empty").await;
    refused(&world, &path, "this installation is not empty").await;
    // What one reader took along is no installation.
    let (_f, own) = kept(&pages::taken(&world, &team.teacher, &team.at("/export"), &[("papers", "none")]).await);
    refused(&World::new().await, &own, "this is what one reader took along, not an installation").await;
}

/// The archive with its files changed, under a manifest that fits them.
pub(super) fn remade(
    path: &Path,
    schema: Option<i64>,
    change: impl Fn(&str, Vec<u8>) -> Option<Vec<u8>>,
    more: &[(&str, &[u8])],
) -> (TempDir, PathBuf) {
    let mut opened = Opened::open(fs::File::open(path).expect("the archive"), MOST_BYTES).expect("ours");
    let names: Vec<String> = opened.manifest().files.iter().map(|file| file.path.clone()).collect();
    let schema = schema.unwrap_or(opened.manifest().schema);
    let mut pack =
        Pack::new(Cursor::new(Vec::new()), Manifest::new(Kind::Installation, String::new(), schema, Vec::new()));
    for name in names {
        if let Some(content) = change(&name, opened.read(&name).expect("whole")) {
            pack.add(&name, &content).expect("memory");
        }
    }
    for (name, content) in more {
        pack.add(name, content).expect("memory");
    }
    kept(&pack.finish().expect("memory").into_inner())
}

/// The archive with one file changed under the manifest that it had, well packed.
pub(super) fn forged(path: &Path, name: &str, change: impl Fn(&mut Vec<u8>)) -> (TempDir, PathBuf) {
    let mut from = ZipArchive::new(fs::File::open(path).expect("the archive")).expect("a zip");
    let mut to = ZipWriter::new(Cursor::new(Vec::new()));
    for place in 0..from.len() {
        let mut file = from.by_index(place).expect("a file");
        let called = file.name().expect("a name").into_owned();
        let mut content = Vec::new();
        file.read_to_end(&mut content).expect("its content");
        if called == name {
            change(&mut content);
        }
        to.start_file(called, SimpleFileOptions::default()).expect("memory");
        to.write_all(&content).expect("memory");
    }
    kept(&to.finish().expect("memory").into_inner())
}

pub(super) fn kept(bytes: &[u8]) -> (TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("other.zip");
    fs::File::create(&path).expect("a file").write_all(bytes).expect("room");
    (folder, path)
}

#[tokio::test]
async fn what_is_not_sound_is_refused_and_nothing_of_it_is_kept() {
    let world = World::new().await;
    a_full_world(&world).await;
    let (_folder, path) = exported(&world).await;
    let empty = World::new().await;
    let same = |_: &str, content: Vec<u8>| Some(content);
    let stranger: [(&str, &[u8]); 1] = [("tables/passwords.jsonl", b"[\"id\"]\n")];
    let (_f, other) = remade(&path, None, same, &stranger);
    refused(&empty, &other, "a table passwords that this program does not know").await;
    let odd: [(&str, &[u8]); 1] = [("../../etc/passwd", b"x")];
    let (_f, other) = remade(&path, None, same, &odd);
    refused(&empty, &other, "neither a table nor an attached file").await;
    let (_f, other) = remade(&path, Some(3), same, &[]);
    refused(&empty, &other, "the archive is of tables 3").await;
    let without = |name: &str, content: Vec<u8>| (name != "tables/loan.jsonl").then_some(content);
    let (_f, other) = remade(&path, None, without, &[]);
    refused(&empty, &other, "no table loan").await;
    let bare = |name: &str, content: Vec<u8>| (!name.starts_with("attachments/")).then_some(content);
    let (_f, other) = remade(&path, None, bare, &[]);
    refused(&empty, &other, "do not fit together").await;
    let cut = |name: &str, content: Vec<u8>| {
        Some(if name == "tables/student.jsonl" {
            content.split(|byte| *byte == b'\n').next().map(<[u8]>::to_vec)?
        } else {
            content
        })
    };
    let (_f, other) = remade(&path, None, cut, &[]);
    refused(&empty, &other, "nothing was kept").await;
    let torn = |name: &str, content: Vec<u8>| {
        Some(if name == "tables/student.jsonl" { [content.as_slice(), b"[1,2]\n"].concat() } else { content })
    };
    let (_f, other) = remade(&path, None, torn, &[]);
    refused(&empty, &other, "of table student is no row").await;
    // A byte changed inside, and a hash that does not match.
    let mut bytes = Vec::new();
    fs::File::open(&path).expect("the archive").read_to_end(&mut bytes).expect("its bytes");
    // Within a file: between two lie names and times that no reader looks at.
    let mut archive = ZipArchive::new(Cursor::new(&bytes)).expect("the archive");
    let student = archive.by_name("tables/student.jsonl").expect("the table");
    let inside = student.data_start().expect("a file read in place") + student.compressed_size() / 2;
    drop(student);
    bytes[usize::try_from(inside).expect("memory")] ^= 1;
    let (_f, other) = kept(&bytes);
    refused(&empty, &other, "nothing was kept").await;
    let one_letter = |content: &mut Vec<u8>| content[10] ^= 1;
    let (_f, other) = forged(&path, "tables/student.jsonl", one_letter);
    refused(&empty, &other, "tables/student.jsonl is not what the manifest says: its hash does not match").await;
    // A file that unpacks to more than it admits, and one that admits too much.
    let swollen = |content: &mut Vec<u8>| content.resize(content.len() + (16 << 20), b' ');
    let (_f, other) = forged(&path, "tables/student.jsonl", swollen);
    refused(&empty, &other, "tables/student.jsonl unpacks to more than the manifest says").await;
    refused_at(&empty, &path, 1000, "the archive unpacks to more than 1000 bytes").await;
    // And a sound one is read in all the same.
    import_store(empty.store(), &path, MOST_BYTES).await.expect("it is read in");
}
