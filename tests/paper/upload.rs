//! Files that are no scan, too large, cut off on the way, or sent by somebody else:
//! the same page again with the reason beside the field, and nothing stored.

use std::pin::Pin;
use std::task::{Context, Poll};

use axum::body::{Body, Bytes};
use axum::http::Method;
use http_body::{Body as HttpBody, Frame};

use super::files::{jpeg, pdf, png};
use super::story::{HEAD, after_file, multipart, parts_before_file};
use crate::lap::{DISTANCE, Step, Team};
use crate::page::Page;
use crate::world::World;

const BUTTON: &str = "Attach the file";

async fn draft(world: &World) -> (Team, String) {
    let team = Team::up_to(world, &DISTANCE, Step::TakenIn).await;
    let report = team.begins_report(&HEAD).await;
    (team, report)
}

/// A body that arrives piece by piece, and may break off.
struct Pieces {
    head: Option<Bytes>,
    piece: Bytes,
    left: usize,
    tail: Option<Bytes>,
    breaks: bool,
}

impl HttpBody for Pieces {
    type Data = Bytes;
    type Error = axum::BoxError;

    fn poll_frame(mut self: Pin<&mut Self>, _: &mut Context<'_>) -> Poll<Option<Result<Frame<Bytes>, Self::Error>>> {
        if let Some(head) = self.head.take() {
            return Poll::Ready(Some(Ok(Frame::data(head))));
        }
        if self.left > 0 {
            self.left -= 1;
            return Poll::Ready(Some(Ok(Frame::data(self.piece.clone()))));
        }
        if self.breaks {
            return Poll::Ready(Some(Err("the line went dead".into())));
        }
        Poll::Ready(self.tail.take().map(|tail| Ok(Frame::data(tail))))
    }
}

async fn nothing_stored(world: &World, before: &std::collections::BTreeMap<String, u64>) {
    assert_eq!(&world.content().await, before);
    assert!(world.files().is_empty(), "{:?}", world.files());
}

async fn refused(world: &World, name: &str, bytes: &[u8], words: &str) -> Page {
    let (team, report) = draft(world).await;
    let before = world.content().await;
    let page = team.teacher.uploads(&format!("{report}/file"), BUTTON, (name, bytes)).await.refused("file");
    let said = page.error_for("file").unwrap_or_default();
    assert!(said.contains(words), "{said}");
    assert!(!said.contains(name) || name.is_empty(), "a name of a file is not repeated: {said}");
    nothing_stored(world, &before).await;
    page
}

#[tokio::test]
async fn what_is_no_scan_is_refused_in_the_users_words() {
    let world = World::new().await;
    refused(&world, "report.pdf", b"MZ\x90\0 renamed", "This file is a program, whatever its name says.").await;
    refused(&world, "report.pdf", b"", "The file is empty.").await;
    refused(&world, "report.docx", b"PK\x03\x04 words", "Save or print it as PDF").await;
    let whole = pdf();
    refused(&world, "report.pdf", &whole[..whole.len() / 2], "its end is missing").await;
    refused(&world, "wide.png", &png(20_000, 20_000), "20000 by 20000 pixels").await;
    let photo = jpeg(4_000, 3_000);
    refused(&world, "photo.jpg", &photo[..photo.len() - 2], "not whole").await;
}

#[tokio::test]
async fn a_form_without_its_file_says_so() {
    let world = World::new().await;
    let (team, report) = draft(&world).await;
    let page = team.teacher.uploads(&format!("{report}/file"), BUTTON, ("", b"")).await.refused("file");
    assert!(page.error_for("file").is_some_and(|said| said.contains("Choose the file")));
}

#[tokio::test]
async fn two_hundred_megabytes_are_answered_on_the_same_page_and_not_kept() {
    let world = World::new().await;
    let (team, report) = draft(&world).await;
    let path = format!("{report}/file");
    let before = world.content().await;
    let (action, pairs) = team.teacher.upload_form(&path, BUTTON).await;
    let body = Pieces {
        head: Some(parts_before_file(&pairs, "scan.pdf").into()),
        piece: vec![b'x'; 1 << 20].into(),
        left: 200,
        tail: Some(after_file().into()),
        breaks: false,
    };
    let page = team.teacher.sends_body(Method::POST, &action, Body::new(body), multipart()).await.refused("file");
    assert_eq!(
        page.error_for("file").as_deref().map(|said| said.trim_start_matches("Error: ")),
        Some("The file is 200 MB. The largest that can be kept is 10 MB. Scan it in grey or at 150 dpi.")
    );
    nothing_stored(&world, &before).await;
    // And the next try is taken.
    team.attaches(&report).await;
    assert_eq!(world.files().len(), 1);
}

#[tokio::test]
async fn a_connection_that_ends_half_way_leaves_no_file_and_no_row() {
    let world = World::new().await;
    let (team, report) = draft(&world).await;
    let before = world.content().await;
    for breaks in [true, false] {
        let (action, pairs) = team.teacher.upload_form(&format!("{report}/file"), BUTTON).await;
        let whole = pdf();
        let head = [parts_before_file(&pairs, "scan.pdf"), whole[..100].to_vec()].concat();
        let body = Pieces { head: Some(head.into()), piece: Bytes::new(), left: 0, tail: None, breaks };
        let page = team.teacher.sends_body(Method::POST, &action, Body::new(body), multipart()).await.status(400);
        page.sees("It did not arrive whole. Nothing was stored.");
        nothing_stored(&world, &before).await;
    }
}

#[tokio::test]
async fn a_part_whose_head_never_ends_is_not_taken_in() {
    let world = World::new().await;
    let (team, report) = draft(&world).await;
    let (action, _) = team.teacher.upload_form(&format!("{report}/file"), BUTTON).await;
    let head = format!("--{}\r\nContent-Disposition: form-data; name=\"", super::story::BOUNDARY);
    let body = Pieces {
        head: Some(head.into()),
        piece: vec![b'x'; 64 * 1024].into(),
        left: 100_000,
        tail: None,
        breaks: false,
    };
    // Six gigabytes would follow; a fraction of a megabyte is read.
    team.teacher.sends_body(Method::POST, &action, Body::new(body), multipart()).await.status(400);
    assert!(world.files().is_empty());
}

#[tokio::test]
async fn a_form_with_a_file_needs_its_token_and_is_stored_once() {
    let world = World::new().await;
    let (team, report) = draft(&world).await;
    let (action, pairs) = team.teacher.upload_form(&format!("{report}/file"), BUTTON).await;
    let sends = async |pairs: &[(String, String)]| {
        let body = [parts_before_file(pairs, "scan.pdf"), pdf(), after_file()].concat();
        team.teacher.sends_body(Method::POST, &action, Body::from(body), multipart()).await
    };
    let before = world.content().await;
    for token in ["", "somebody-elses"] {
        let mut bent = pairs.clone();
        bent.iter_mut().filter(|(name, _)| name == "csrf").for_each(|(_, value)| token.clone_into(value));
        sends(&bent).await.forbidden().sees("This form has run out");
    }
    nothing_stored(&world, &before).await;
    let first = sends(&pairs).await.redirected_to();
    assert_eq!(sends(&pairs).await.redirected_to(), first, "a double click finds the first answer");
    assert_eq!((world.files().len(), world.count("attachment").await), (1, 1));
    // Another file takes the place of the first, which goes.
    let kept = world.files();
    team.attaches(&report).await;
    assert_eq!((world.files().len(), world.count("attachment").await), (1, 1));
    assert_ne!(world.files(), kept);
    // A form opened before that is old by now, and its file is not left behind.
    let page = sends(&[&pairs[..], &[("key".to_owned(), "another-key".to_owned())]].concat()).await;
    assert_eq!(page.code(), 409, "{}", page.seen());
    assert_eq!(world.files().len(), 1);
    let form = multipart();
    let body = [parts_before_file(&pairs, "scan.pdf"), pdf(), after_file()].concat();
    for person in [&team.parent, &team.classroom, &team.clinician] {
        let page = person.sends_body(Method::POST, &action, Body::from(body.clone()), form.clone()).await;
        assert!([403, 404].contains(&page.code()), "{}", page.asked());
    }
    assert_eq!(world.files().len(), 1);
}
