//! A page as a PDF, to print, to keep or to take along.
//!
//! The handler of a paper builds the very page that it shows for printing and hands
//! it to [`Paper::answer`]: it is rendered once and read off, so that no figure is worded twice.
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
use crate::access::Access;
use crate::access::action::Export;
use crate::access::resource::Resource;
use crate::care::student::initials;
use crate::pdf::model::{Block, Text};
use crate::pdf::read::read;
use crate::pdf::{self, Document, Room, Sheet, Size};

/// How many papers are set at the same time; the rest wait, and pages do not.
static PRESSES: Semaphore = Semaphore::const_new(2);

/// The rules that pictures are drawn by, for black on white.
static PICTURES: LazyLock<String> = LazyLock::new(|| picture_style(&assets::style()));

/// What the handler of a paper is given: who asks about whom, under which proof, and
/// the size asked for, `?size=standard` or `?size=large`, large unless said.
pub(super) struct Paper<R: Resource> {
    pub(super) context: Context,
    pub(super) visit: Visit,
    pub(super) access: Access<R, Export>,
    size: Size,
}

impl<R: Resource> FromRequestParts<App> for Paper<R> {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, state: &App) -> Result<Self> {
        let context = Context::from_request_parts(parts, state).await?;
        let visit = Visit::from_request_parts(parts, state).await?;
        let access = Access::from_request_parts(parts, state).await?;
        let query = parts.uri.query().unwrap_or_default();
        let size = match form_urlencoded::parse(query.as_bytes()).find(|(name, _)| name == "size") {
            None => Size::default(),
            Some((_, name)) => Size::named(&name).ok_or(Error::Hidden)?,
        };
        Ok(Self { context, visit, access, size })
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

impl<R: Resource> Paper<R> {
    /// The page as a PDF.
    pub(super) async fn answer<T: Template>(&self, page: &T, room: Room) -> Result<Response> {
        let of = initials(self.visit.name());
        let today = self.visit.store().clock().today();
        let bytes = set((&self.context, &self.visit), page, (self.size, room)).await?;
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
}

/// A page as a PDF, for whoever holds the proof that it was built under.
pub(super) async fn set<T: Template>(
    (context, visit): (&Context, &Visit),
    page: &T,
    (size, room): (Size, Room),
) -> Result<Vec<u8>> {
    let html = page.render().map_err(|error| Error::broken(&error))?;
    let demo = if context.site.demo() { "Demo, invented people. " } else { "" };
    let printed = format!("{demo}Printed on {}", words::date(visit.store().clock().today()));
    let sheet = sheet(context);
    press(move || {
        let paper = document(&html, &printed, (size, sheet, room))?;
        pdf::write(&paper).map_err(|error| Error::broken(&error))
    })
    .await
}

/// How many sides a page takes in large print.
pub(super) async fn sides<T: Template>(context: &Context, page: &T, room: Room) -> Result<usize> {
    let html = page.render().map_err(|error| Error::broken(&error))?;
    let sheet = sheet(context);
    press(move || {
        let paper = document(&html, "", (Size::Large, sheet, room))?;
        pdf::pages(&paper).map_err(|error| Error::broken(&error))
    })
    .await
}

/// The sheet of this reader's country.
fn sheet(context: &Context) -> Sheet {
    if context.imperial() { Sheet::Letter } else { Sheet::A4 }
}

/// Sets a paper away from the threads that answer pages.
async fn press<T: Send + 'static>(set: impl FnOnce() -> Result<T> + Send + 'static) -> Result<T> {
    let _press = PRESSES.acquire().await.map_err(|error| Error::broken(&error))?;
    tokio::task::spawn_blocking(set).await.map_err(|error| Error::broken(&error))?
}

fn document(html: &str, printed: &str, (size, sheet, room): (Size, Sheet, Room)) -> Result<Document> {
    let read = read(html).map_err(|error| Error::broken(&error))?;
    let title = read.title.strip_suffix(" - Farpoint").unwrap_or(&read.title).replace(", for printing", "");
    let mut paper = Document {
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
    if let Some(said) = boxes(pdf::unprintable(&paper).map_err(|error| Error::broken(&error))?) {
        let at = 1.min(paper.blocks.len());
        paper.blocks.insert(at, Block::Notice(vec![Block::Paragraph(Text::of(&said))]));
    }
    Ok(paper)
}

/// What is said over a paper with letters that no typeface here has.
fn boxes(letters: usize) -> Option<String> {
    let how_many = match letters {
        0 => return None,
        1 => "One letter of this paper is".to_owned(),
        more => format!("{more} letters of this paper are"),
    };
    Some(format!(
        "{how_many} of an alphabet that this program has no typeface for: an empty box stands for each. \
         Printed from the page in a browser, they are there."
    ))
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
    fn letters_without_a_typeface_are_counted_over_the_paper() {
        let page = |words: &str| format!("<html lang=en><title>T</title><main><h1>T</h1><p>{words}</p></main></html>");
        let set =
            |words: &str| document(&page(words), "", (Size::Large, Sheet::A4, Room::Open)).expect("a page").blocks;
        assert_eq!(set("Nguy\u{1ec5}n").len(), 2);
        let [_, Block::Notice(said), _] = &set("\u{6f22}\u{5b57} and \u{6f22}")[..] else { panic!("no notice") };
        let [Block::Paragraph(said)] = &said[..] else { panic!("{said:?}") };
        assert!(said.plain().starts_with("3 letters of this paper are"), "{said:?}");
    }

    #[test]
    fn a_size_is_one_of_two() {
        assert_eq!(Size::named("large"), Some(Size::Large));
        assert_eq!(Size::named("standard"), Some(Size::Standard));
        assert_eq!(Size::named("huge"), None);
    }
}
