//! Whole archives and calendars, for the readers that others wrote: what three people
//! take along of one long record, the installation, and the dates of two of them.

use std::path::PathBuf;

use super::pages::taken;
use super::travel::{a_long_record, exported};
use crate::calendar::{MAKE, makes};
use crate::world::World;

#[tokio::test]
async fn the_archives_for_other_readers_are_written() {
    let scratch = tempfile::tempdir().expect("a folder");
    let folder = std::env::var_os("FORMATS_OUT").map_or_else(|| scratch.path().to_owned(), PathBuf::from);
    let write = |name: &str, content: &[u8]| std::fs::write(folder.join(name), content).expect("room for a file");
    let world = World::new().await;
    let team = a_long_record(&world).await;
    team.drafts_card().await;
    team.releases_card().await;
    for (name, person, text, papers) in [
        ("teacher", &team.teacher, "program", "standard"),
        ("parent", &team.parent, "spreadsheet", "large"),
        ("clinician", &team.clinician, "program", "large"),
    ] {
        let wanted = [("text", text), ("papers", papers)];
        let zip = taken(&world, person, &team.at("/export"), &wanted).await;
        write(&format!("record-{name}.zip"), &zip);
    }
    for (name, person) in [("teacher", &team.teacher), ("parent", &team.parent)] {
        let path = makes(person, MAKE).await;
        let feed = world.stranger().opens(&path).await.ok();
        assert!(feed.source().contains("BEGIN:VEVENT"), "{name} has no date");
        write(&format!("feed-{name}.ics"), feed.source().as_bytes());
    }
    let (_kept, path) = exported(&world).await;
    write("installation.zip", &std::fs::read(path).expect("the archive"));
    let written = std::fs::read_dir(&folder).expect("the folder").count();
    assert!(written >= 6, "{written} files");
}
