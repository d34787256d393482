//! An archive is opened with suspicion: what is not what its manifest says is
//! refused, and so is what would fill a disk.

use std::io::{Cursor, Write};

use farpoint::exchange::archive::{FORMAT, Kind, MANIFEST, MOST_BYTES, Manifest, Opened, Pack, Refused, VERSION};
use serde_json::json;
use sha2::{Digest, Sha256};
use zip::ZipWriter;
use zip::write::SimpleFileOptions;

fn packed(files: &[(&str, &[u8])]) -> Vec<u8> {
    let manifest = Manifest::new(Kind::Reader, "2026-11-26T12:00:00Z".to_owned(), 0, Vec::new());
    let mut pack = Pack::new(Cursor::new(Vec::new()), manifest);
    for (path, content) in files {
        pack.add(path, content).expect("memory");
    }
    pack.finish().expect("memory").into_inner()
}

/// A zip of these files under a manifest that says what it is told to say.
fn forged(files: &[(&str, &[u8])], listed: &[(&str, usize, &str)]) -> Vec<u8> {
    let mut zip = ZipWriter::new(Cursor::new(Vec::new()));
    let listed: Vec<_> =
        listed.iter().map(|(path, bytes, hash)| json!({ "path": path, "bytes": bytes, "sha256": hash })).collect();
    let manifest = json!({ "format": FORMAT, "version": VERSION, "kind": "reader", "made_at": "", "schema": 0,
        "not_included": [], "files": listed })
    .to_string();
    for (path, content) in files.iter().copied().chain([(MANIFEST, manifest.as_bytes())]) {
        zip.start_file(path, SimpleFileOptions::default()).expect("memory");
        zip.write_all(content).expect("memory");
    }
    zip.finish().expect("memory").into_inner()
}

fn hash(content: &[u8]) -> String {
    hex::encode(Sha256::digest(content))
}

fn refusal(zip: Vec<u8>, most: u64) -> Refused {
    match Opened::open(Cursor::new(zip), most) {
        Err(refused) => refused,
        Ok(mut opened) => opened.check_all().expect_err("it is refused"),
    }
}

#[test]
fn an_archive_reads_back_as_it_was_packed() {
    let zip = packed(&[("csv/a.csv", b"a,b\r\n"), ("attachments/x.png", &[1, 2, 3])]);
    let mut opened = Opened::open(Cursor::new(zip.clone()), MOST_BYTES).expect("ours");
    opened.check_all().expect("whole");
    assert_eq!(opened.read("csv/a.csv").expect("there"), b"a,b\r\n");
    assert_eq!(opened.manifest().files.len(), 2);
    assert_eq!(zip, packed(&[("csv/a.csv", b"a,b\r\n"), ("attachments/x.png", &[1, 2, 3])]), "the same bytes again");
}

#[test]
fn what_is_not_what_the_manifest_says_is_refused() {
    let (a, b) = (b"as it was".as_slice(), b"as it is.".as_slice());
    let other = forged(&[("a", b)], &[("a", b.len(), &hash(a))]);
    assert!(matches!(refusal(other, MOST_BYTES), Refused::Hash(path) if path == "a"));
    let missing = forged(&[], &[("a", a.len(), &hash(a))]);
    assert!(matches!(refusal(missing, MOST_BYTES), Refused::Missing(path) if path == "a"));
    let stranger = forged(&[("a", a)], &[]);
    assert!(matches!(refusal(stranger, MOST_BYTES), Refused::Unlisted(path) if path == "a"));
    let twice = forged(&[("a", a)], &[("a", a.len(), &hash(a)), ("a", a.len(), &hash(a))]);
    assert!(matches!(refusal(twice, MOST_BYTES), Refused::Unlisted(_)));
    assert!(matches!(refusal(b"no zip at all".to_vec(), MOST_BYTES), Refused::NotAnArchive(_)));
    let mut plain = ZipWriter::new(Cursor::new(Vec::new()));
    plain.start_file("a", SimpleFileOptions::default()).expect("memory");
    let plain = plain.finish().expect("memory").into_inner();
    assert!(matches!(refusal(plain, MOST_BYTES), Refused::NoManifest));
}

#[test]
fn an_archive_that_unpacks_to_gigabytes_is_refused() {
    // 64 MB of nothing pack into a few kB.
    let nothing = vec![0_u8; 64 << 20];
    let zip = packed(&[("tables/a.jsonl", &nothing)]);
    assert!(zip.len() < 200_000, "{} bytes", zip.len());
    assert!(matches!(refusal(zip, 32 << 20), Refused::TooLarge(_)), "what the manifest admits");
    let lying = forged(&[("a", &nothing)], &[("a", 1000, &hash(&nothing[..1000]))]);
    assert!(matches!(refusal(lying, MOST_BYTES), Refused::Longer(path) if path == "a"), "what it hides");
    let huge = forged(&[("a", b"x")], &[("a", 3 << 30, &hash(b"x"))]);
    assert!(matches!(refusal(huge, MOST_BYTES), Refused::TooLarge(MOST_BYTES)));
}
