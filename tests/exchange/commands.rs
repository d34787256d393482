//! Moving an installation by the commands themselves, as an operator types them: what
//! is not sound is refused with the reason, and the folder is as empty as before.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use farpoint::exchange::archive::{MOST_BYTES, Opened};
use tempfile::TempDir;

use super::travel::{a_full_world, exported, forged, kept, remade};
use crate::world::World;

fn farpoint(arguments: &[&str]) -> Output {
    let mut program = Command::new(env!("CARGO_BIN_EXE_farpoint"));
    program.args(arguments).env_remove("FARPOINT_DATA").env_remove("FARPOINT_DATABASE_URL").stdin(Stdio::null());
    program.output().expect("the program starts")
}

fn text(path: &Path) -> &str {
    path.to_str().expect("a path in letters")
}

/// An empty folder in which an installation is made by the command.
struct Place {
    folder: TempDir,
}

impl Place {
    fn new() -> Self {
        Self { folder: tempfile::tempdir().expect("a folder") }
    }

    fn data(&self) -> PathBuf {
        self.folder.path().join("data")
    }

    fn imports(&self, archive: &Path, more: &[&str]) -> Output {
        let data = self.data();
        farpoint(&[&["import", "--data", text(&data), "--from", text(archive)], more].concat())
    }

    /// Refused with these words, and nothing of it anywhere.
    fn refuses(&self, archive: &Path, more: &[&str], words: &str) {
        let output = self.imports(archive, more);
        let told = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(!output.status.success(), "{words}: it was read in");
        assert!(told.contains(words) && told.contains("nothing was kept"), "wanted {words}: {told}");
        assert!(!told.contains("panicked"), "{told}");
        let attachments = fs::read_dir(self.data().join("attachments")).map(|entries| entries.count());
        assert_eq!(attachments.unwrap_or(0), 0, "{words}: a file was kept");
        let beside: Vec<_> = fs::read_dir(self.folder.path()).expect("the folder").collect();
        assert_eq!(beside.len(), 1, "{words}: something lies outside of the data");
    }
}

fn writes(folder: &TempDir, content: &[u8]) -> PathBuf {
    let path = folder.path().join("cut.zip");
    fs::write(&path, content).expect("room for a file");
    path
}

#[tokio::test]
async fn what_the_command_refuses_it_says_why_and_keeps_nothing_of() {
    let world = World::new().await;
    a_full_world(&world).await;
    let (_folder, sound) = exported(&world).await;
    let same = |_: &str, content: Vec<u8>| Some(content);
    let place = Place::new();

    let one_letter = |content: &mut Vec<u8>| content[10] ^= 1;
    let (_f, other) = forged(&sound, "tables/student.jsonl", one_letter);
    place.refuses(&other, &[], "tables/student.jsonl is not what the manifest says: its hash does not match");

    // 64 MiB of blanks pack into some kilobytes; the manifest hides them, or admits them.
    let swollen = |content: &mut Vec<u8>| content.resize(content.len() + (64 << 20), b' ');
    let (_f, other) = forged(&sound, "tables/student.jsonl", swollen);
    assert!(fs::metadata(&other).expect("the archive").len() < 4 << 20, "it is small as long as it is packed");
    place.refuses(&other, &[], "tables/student.jsonl unpacks to more than the manifest says");
    let admitted = |name: &str, mut content: Vec<u8>| {
        if name == "tables/student.jsonl" {
            content.resize(content.len() + (64 << 20), b'\n');
        }
        Some(content)
    };
    let (_f, other) = remade(&sound, None, admitted, &[]);
    place.refuses(&other, &["--at-most-mib", "32"], "the archive unpacks to more than 33554432 bytes");
    let three_gigabytes = |content: &mut Vec<u8>| {
        let manifest = String::from_utf8(std::mem::take(content)).expect("text");
        let at = manifest.find("\"bytes\": ").expect("a length") + "\"bytes\": ".len();
        *content = format!("{}3221225472, \"was\": {}", &manifest[..at], &manifest[at..]).into_bytes();
    };
    let (_f, other) = forged(&sound, "manifest.json", three_gigabytes);
    place.refuses(&other, &[], "the archive unpacks to more than 2147483648 bytes");

    for climbing in ["../outside", "attachments/../../outside", "/outside", "tables/../../outside.jsonl"] {
        let (_f, other) = remade(&sound, None, same, &[(climbing, b"out")]);
        place.refuses(&other, &[], "nothing was kept");
    }
    let (_f, other) = remade(&sound, None, same, &[("../outside", b"out")]);
    place.refuses(&other, &[], "../outside is neither a table nor an attached file");

    let whole = fs::read(&sound).expect("the archive");
    let scratch = tempfile::tempdir().expect("a folder");
    for length in [0, 100, whole.len() / 2, whole.len() - 1] {
        place.refuses(&writes(&scratch, &whole[..length]), &[], "this is not a zip archive, or it is broken");
    }
    place.refuses(&writes(&scratch, b"name,seen\r\n"), &[], "this is not a zip archive, or it is broken");
    let (_f, other) = kept(&whole[whole.len() / 2..]);
    place.refuses(&other, &[], "nothing was kept");

    let (_f, other) = remade(&sound, None, same, &[("tables/passwords.jsonl", b"[\"id\"]\n")]);
    place.refuses(&other, &[], "the archive holds a table passwords that this program does not know");

    // The folder is still one into which a sound archive can be read.
    let output = place.imports(&sound, &[]);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert!(String::from_utf8_lossy(&output.stdout).contains("Everybody signs in again"));
    // And then no longer.
    let again = place.imports(&sound, &[]);
    let told = String::from_utf8_lossy(&again.stderr).into_owned();
    assert!(!again.status.success() && told.contains("this installation is not empty"), "{told}");
}

#[tokio::test]
async fn an_installation_moves_by_the_two_commands_with_nothing_lost() {
    let world = World::new().await;
    a_full_world(&world).await;
    let (_folder, first) = exported(&world).await;
    let place = Place::new();
    assert!(place.imports(&first, &[]).status.success());
    let to = place.folder.path().join("archives");
    let output = farpoint(&["export", "--all", "--data", text(&place.data()), "--to", text(&to)]);
    let said = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(output.status.success() && said.contains("nothing of it is encrypted"), "{said}");
    let written = fs::read_dir(&to).expect("the folder").next().expect("an archive").expect("an entry").path();
    let open = |path: &Path| Opened::open(fs::File::open(path).expect("the archive"), MOST_BYTES).expect("ours");
    let (mut one, mut two) = (open(&first), open(&written));
    let hashes = |opened: &Opened<fs::File>| -> Vec<(String, String)> {
        let files = opened.manifest().files.iter();
        // The log goes on by the lines that say what was done.
        let kept = files.filter(|file| !file.path.starts_with("tables/audit"));
        kept.map(|file| (file.path.clone(), file.sha256.clone())).collect()
    };
    assert_eq!(hashes(&one), hashes(&two));
    assert!(hashes(&one).iter().any(|(path, _)| path.starts_with("attachments/")));
    let log = |opened: &mut Opened<fs::File>| -> Vec<String> {
        let lines = String::from_utf8(opened.read("tables/audit.jsonl").expect("the log")).expect("text");
        lines.lines().map(str::to_owned).collect()
    };
    let (before, after) = (log(&mut one), log(&mut two));
    assert_eq!(after[..before.len()], before[..]);
    let new = after[before.len()..].join("\n");
    assert!(new.contains("import everything") && new.contains("export everything"), "{new}");
    // Without saying what is meant by it, nothing is written.
    let silent = farpoint(&["export", "--data", text(&place.data()), "--to", text(&to)]);
    assert!(!silent.status.success());
    assert_eq!(fs::read_dir(&to).expect("the folder").count(), 1);
}
