//! A page as a PDF, to print, to keep or to take along.
//!
//! The handler of a paper builds the very page that it shows for printing and hands
//! it to [`answer`]: it is rendered once and read off, so that no figure is worded twice.
//! Nothing of the student but initials stands in the name of the file, its title or at
//! the foot of its pages: those are seen where others look on. Each paper is taken
//! under the proof to print or export, which writes its line of the disclosure record.

use std::sync::LazyLock;

use askama::Template;
use askama::filters::HtmlSafe;
use axum::extract::FromRequestParts;
use axum::http::header;
use axum::http::request::Parts;
use axum::response::{IntoResponse, Response};
use tokio::sync::Semaphore;

use super::assets;
use super::attachment::disposition;
use super::error::{Error, Result};
use super::page::Context;
use super::state::App;
use super::visit::Visit;
use super::words;
use crate::care::student::initials;
use crate::pdf::read::read;
use crate::pdf::{self, Document, Room, Sheet, Size};

/// How many papers are set at the same time; the rest wait, and pages do not.
static PRESSES: Semaphore = Semaphore::const_new(2);

/// The rules that pictures are drawn by, for black on white.
static PICTURES: LazyLock<String> = LazyLock::new(|| picture_style(&assets::style()));

/// The size asked for: `?size=standard` or `?size=large`, large unless said.
pub(super) struct Asked(Size);

impl FromRequestParts<App> for Asked {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, _state: &App) -> Result<Self> {
        let query = parts.uri.query().unwrap_or_default();
        let asked = form_urlencoded::parse(query.as_bytes()).find(|(name, _)| name == "size");
        match asked {
            None => Ok(Self(Size::default())),
            Some((_, name)) => Size::named(&name).map(Self).ok_or(Error::Hidden),
        }
    }
}

/// The links to the PDF of a page in both sizes. Without an address there is nothing.
#[derive(Debug, Clone, Default, Template)]
#[template(path = "part/pdf.html")]
pub(super) struct Links {
    href: String,
}

impl HtmlSafe for Links {}

impl Links {
    fn sized(&self, size: &str) -> String {
        let joint = if self.href.contains('?') { '&' } else { '?' };
        format!("{}{joint}size={size}", self.href)
    }
}

/// The links to the PDF at this address.
pub(super) fn links(href: &str) -> Links {
    Links { href: href.to_owned() }
}

/// The page as a PDF.
pub(super) async fn answer<T: Template>(
    context: &Context,
    visit: &Visit,
    page: &T,
    (asked, room): (Asked, Room),
) -> Result<Response> {
    let html = page.render().map_err(|error| Error::broken(&error))?;
    let of = initials(visit.name());
    let today = visit.store().clock().today();
    let demo = if context.site.demo() { "Demo, invented people. " } else { "" };
    let sheet = if context.imperial() { Sheet::Letter } else { Sheet::A4 };
    let printed = format!("{demo}Printed on {}", words::date(today));
    let _press = PRESSES.acquire().await.map_err(|error| Error::broken(&error))?;
    let set = tokio::task::spawn_blocking(move || document(&html, &printed, (asked.0, sheet, room)));
    let bytes = set.await.map_err(|error| Error::broken(&error))??;
    Ok((
        [
            (header::CONTENT_TYPE, "application/pdf".to_owned()),
            (header::CONTENT_DISPOSITION, disposition(&format!("{of}-{today}.pdf"))),
            (header::CONTENT_SECURITY_POLICY, "sandbox; default-src 'none'; frame-ancestors 'none'".to_owned()),
            (header::CACHE_CONTROL, "no-store".to_owned()),
        ],
        bytes,
    )
        .into_response())
}

fn document(html: &str, printed: &str, (size, sheet, room): (Size, Sheet, Room)) -> Result<Vec<u8>> {
    let read = read(html).map_err(|error| Error::broken(&error))?;
    let title = read.title.strip_suffix(" - Farpoint").unwrap_or(&read.title).replace(", for printing", "");
    let document = Document {
        foot: format!("{title}. {printed}"),
        title,
        language: read.language,
        stamp: read.stamp,
        blocks: read.blocks,
        size,
        sheet,
        room,
        picture_style: PICTURES.clone(),
    };
    pdf::write(&document).map_err(|error| Error::broken(&error))
}

/// The rules of the style sheet for what stands inside a picture, with the colours of
/// paper. The first rule for each counts: later ones are for narrow pages and for
/// palettes that paper does not have.
fn picture_style(sheet: &str) -> String {
    let mut style = String::from("text { font-size: 14px; font-family: sans-serif; fill: #000 }\n");
    for line in sheet.lines() {
        let Some(rest) = line.strip_prefix(".picture .") else { continue };
        style.push('.');
        style.push_str(&on_paper(rest));
        style.push('\n');
    }
    style
}

/// A rule in the colours of paper.
fn on_paper(rule: &str) -> String {
    let mut out = rule.replace("currentColor", "#000");
    for (name, colour) in [
        ("ink", "#000"),
        ("soft", "#000"),
        ("rule", "#000"),
        ("hair", "#000"),
        ("action", "#000"),
        ("good", "#000"),
        ("caution", "#000"),
        ("stop", "#000"),
        ("paper", "#fff"),
        ("card", "#fff"),
    ] {
        out = out.replace(&format!("var(--{name})"), colour);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pictures_keep_their_rules_and_no_colour_of_a_screen() {
        let style = picture_style(&assets::style());
        for class in [".ink", ".hair", ".thick", ".accent", ".full", ".open", ".soft-text", ".strong"] {
            assert!(style.contains(&format!("{class} {{")), "{class}: {style}");
        }
        assert!(!style.contains("var("), "{style}");
    }

    #[test]
    fn a_size_is_one_of_two() {
        assert_eq!(Size::named("large"), Some(Size::Large));
        assert_eq!(Size::named("standard"), Some(Size::Standard));
        assert_eq!(Size::named("huge"), None);
    }
}
