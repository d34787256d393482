//! Somebody walks from Today along every link, and reads the panels.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use scraper::{ElementRef, Html, Node};

use super::printed::{Printed, Rounding};
use crate::page::{Page, css, words};
use crate::people::Person;

/// A panel that says how a figure was computed.
pub(super) struct Panel {
    /// The address of the page, and who reads it.
    pub(super) page: String,
    /// The first sentence of its account.
    pub(super) begins: String,
    /// Each line to recompute, with what of its answer stands on the page.
    pub(super) lines: Vec<(String, Vec<Printed>)>,
    /// What else the page says, without these lines.
    pub(super) around: String,
}

/// Pages of one shape, such as every session of training: so many are read.
const OF_ONE_SHAPE: usize = 5;

/// The panels of every page this person can reach by links, and the pages that
/// show a figure and say nowhere how it was computed.
pub(super) async fn panels_of(person: &Person, who: &str) -> (Vec<Panel>, Vec<String>) {
    let (mut panels, mut silent) = (Vec::new(), Vec::new());
    let mut seen: BTreeSet<String> = BTreeSet::new();
    let mut shapes: BTreeMap<String, usize> = BTreeMap::new();
    let mut next: VecDeque<String> = VecDeque::from(["/today".to_owned()]);
    while let Some(path) = next.pop_front() {
        if !seen.insert(path.clone()) {
            continue;
        }
        let count = shapes.entry(shape(&path)).or_default();
        *count += 1;
        if *count > OF_ONE_SHAPE {
            continue;
        }
        let page = person.opens(&path).await;
        if page.code() != 200 || !page.is_html() {
            continue;
        }
        let found = panels_on(&page, &format!("{who} {path}"));
        if found.is_empty() && shows_a_figure(&page) {
            silent.push(format!("{who} {path}"));
        }
        panels.extend(found);
        let links = page.links().into_iter().map(|(to, _)| to.split('#').next().unwrap_or_default().to_owned());
        next.extend(links.filter(|to| to.starts_with('/') && !to.starts_with("/static/")));
    }
    (panels, silent)
}

/// Whether a figure stands on the page.
fn shows_a_figure(page: &Page) -> bool {
    page.html().select(&css(".figure .figure-value")).next().is_some()
}

/// An address without what differs from record to record.
fn shape(path: &str) -> String {
    let bare = path.split('?').next().unwrap_or_default();
    let parts = bare.split('/').map(|part| if part.len() == 36 { "{id}" } else { part });
    parts.collect::<Vec<_>>().join("/")
}

fn plain(text: &str) -> String {
    text.replace('\u{a0}', " ").split_whitespace().collect::<Vec<_>>().join(" ")
}

pub(super) fn panels_on(page: &Page, name: &str) -> Vec<Panel> {
    let html = page.html();
    if html.select(&css("details.how")).next().is_none() {
        return Vec::new();
    }
    let around = around(&html);
    // The caution under every figure tells a panel from what is only folded away.
    let of_a_figure = |panel: &ElementRef<'_>| {
        panel.select(&css(".how-body > .caveat")).any(|caveat| words(caveat).starts_with("Arithmetic"))
    };
    html.select(&css("details.how"))
        .filter(of_a_figure)
        .map(|panel| Panel {
            page: name.to_owned(),
            begins: panel.select(&css(".how-body p")).next().map(|first| plain(&words(first))).unwrap_or_default(),
            lines: panel.select(&css(".asked > li")).map(line).collect(),
            around: around.clone(),
        })
        .collect()
}

/// Everything the page says outside of the lines to recompute.
fn around(html: &Html) -> String {
    let mut said = String::new();
    for node in html.tree.root().descendants() {
        let Node::Text(text) = node.value() else { continue };
        let within = |class: &str| {
            node.ancestors()
                .filter_map(ElementRef::wrap)
                .any(|element| element.value().classes().any(|one| one == class))
        };
        if !within("asked") {
            said.push_str(text);
            said.push(' ');
        }
    }
    plain(&said)
}

fn line(item: ElementRef<'_>) -> (String, Vec<Printed>) {
    let text = |element: ElementRef<'_>| plain(&element.text().collect::<String>());
    let asked = item.select(&css("code.ask")).next().map(text).expect("a line of JSON");
    let gives = css(".gives");
    let shown = item.select(&gives).map(|gives| {
        let all = text(gives);
        let rounding = match () {
            () if all.ends_with(", rounded down") => Rounding::Down,
            () if all.ends_with(", rounded up") => Rounding::Up,
            () if all.ends_with(", to the quarter") => Rounding::Quarter,
            () => Rounding::Nearest,
        };
        Printed {
            key: gives.select(&css("code")).next().map(text).expect("a key"),
            text: gives.select(&css("span")).next().map(text).expect("a figure"),
            rounding,
        }
    });
    (asked, shown.collect())
}
