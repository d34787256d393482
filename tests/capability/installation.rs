//! Starting the program: on an empty database, on a filled one, twice at once.

use std::net::TcpListener;
use std::path::Path;
use std::process::{Child, Command, Stdio};

use crate::world::World;

fn farpoint(arguments: &[&str]) -> Child {
    Command::new(env!("CARGO_BIN_EXE_farpoint"))
        .args(arguments)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts")
}

fn ends_well(child: Child) -> String {
    let output = child.wait_with_output().expect("the program ends");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8_lossy(&output.stdout).into_owned()
}

#[tokio::test]
async fn two_servers_may_bring_one_empty_database_up_to_date_at_once() {
    let place = World::empty_place();
    let url = place.url();
    let both = [farpoint(&["migrate", "--database-url", &url]), farpoint(&["migrate", "--database-url", &url])];
    for child in both {
        assert!(ends_well(child).contains("up to date"));
    }
    // And once more, when there is nothing to do.
    ends_well(farpoint(&["migrate", "--database-url", &url]));
}

#[test]
fn a_data_folder_that_is_not_there_is_made() {
    let scratch = tempfile::tempdir().expect("a scratch folder");
    let data = scratch.path().join("deep").join("down");
    ends_well(farpoint(&["migrate", "--data", data.to_str().expect("a path")]));
    assert!(data.join("farpoint.db").exists());
}

#[test]
fn what_cannot_be_is_named_by_its_setting() {
    let taken = TcpListener::bind("127.0.0.1:0").expect("a free port");
    let address = taken.local_addr().expect("an address").to_string();
    let scratch = tempfile::tempdir().expect("a scratch folder");
    let data = scratch.path().to_str().expect("a path");
    let file = Path::new(data).join("a-file");
    std::fs::write(&file, "no folder").expect("room for a file");
    for (arguments, says) in [
        (vec!["serve", "--data", data, "--listen", &address], "FARPOINT_LISTEN"),
        (vec!["serve", "--data", file.to_str().expect("a path"), "--listen", "127.0.0.1:0"], "FARPOINT_DATA"),
        (vec!["migrate", "--database-url", "postgres://nobody@127.0.0.1:1/nothing"], "FARPOINT_DATABASE_URL"),
    ] {
        let output = farpoint(&arguments).wait_with_output().expect("the program ends");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(!output.status.success() && said.contains(says), "{arguments:?}: {said}");
    }
}
