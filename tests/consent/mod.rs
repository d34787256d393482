//! Consent in every way it is given and taken back (G7): before a witness, on
//! paper, in an emergency, renewed, withdrawn; and the pause that a records
//! officer ends on a written note (G9).

mod due;
mod emergency;
mod note;
mod starting;
mod withdrawing;
mod witnessed;

use axum::body::Body;
use axum::http::{Method, Request, header};
use tower::ServiceExt;

use crate::page::Page;
use crate::pages::rules;
use crate::people::Person;
use crate::world::World;

/// A file as a browser sends it: the field, its name, its bytes.
pub(crate) type File<'a> = (&'a str, &'a str, &'a [u8]);

/// Opens a page, fills in the form that has this button, chooses a file or none,
/// and sends it.
pub(crate) async fn uploads(
    world: &World,
    person: &Person,
    (path, button): (&str, &str),
    fields: &[(&str, &str)],
    file: Option<File<'_>>,
) -> Page {
    let page = person.opens(path).await.ok();
    let (action, pairs) = page.filled(button, fields);
    sends_file(world, person, &action, &pairs, file).await
}

/// Sends a form with a file straight to an address.
pub(crate) async fn sends_file(
    world: &World,
    person: &Person,
    action: &str,
    pairs: &[(String, String)],
    file: Option<File<'_>>,
) -> Page {
    const EDGE: &str = "----edge-of-a-part";
    let mut body = Vec::new();
    let field = file.map_or("scan", |(field, ..)| field);
    for (name, value) in pairs.iter().filter(|(name, _)| name != field) {
        let head = format!("--{EDGE}\r\nContent-Disposition: form-data; name=\"{name}\"\r\n\r\n");
        body.extend([head.as_bytes(), value.as_bytes(), b"\r\n"].concat());
    }
    let (name, bytes) = file.map_or(("", &b""[..]), |(_, name, bytes)| (name, bytes));
    let head = format!(
        "--{EDGE}\r\nContent-Disposition: form-data; name=\"{field}\"; filename=\"{name}\"\r\n\
         Content-Type: application/octet-stream\r\n\r\n"
    );
    body.extend([head.as_bytes(), bytes, b"\r\n", format!("--{EDGE}--\r\n").as_bytes()].concat());
    let request = Request::builder()
        .method(Method::POST)
        .uri(action)
        .header(header::COOKIE, person.cookie_line())
        .header(header::CONTENT_TYPE, format!("multipart/form-data; boundary={EDGE}"))
        .body(Body::from(body))
        .expect("a request");
    let response = world.router().oneshot(request).await.expect("the service always answers");
    let page = Page::read(format!("{} POST {action}", person.name), action, response).await;
    rules::check(&page);
    page
}

/// Every table and every file as they are, to be compared later; how often a
/// password was wrong is no content.
async fn content(world: &World) -> std::collections::BTreeMap<String, u64> {
    let mut content = world.content().await;
    content.remove("account");
    content
}
