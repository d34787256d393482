//! The thread: questions, filters, read marks, notes shared with the class, what
//! to try at home, the student's own words, and who reads what of all of it.

mod amended;
mod everybody;
mod filters;
mod home;
mod marks;
mod questions;
mod sharing;
mod spoken;

use jiff::SignedDuration;

use crate::capability::around::Circle;
use crate::page::Page;
use crate::people::Person;
use crate::world::World;

/// Somebody writes into the thread, a minute later than whatever was before.
async fn writes(world: &World, circle: &Circle, person: &Person, to: &str, body: &str) {
    world.passes(SignedDuration::from_mins(1));
    let thread = circle.pupil.at("/thread");
    let sent = person.presses(&thread, "Send", &[("to", to), ("body", body)]).await;
    assert_eq!(sent.redirected_to(), thread);
}

/// A note from home, entered by the parent; gives its address.
async fn notes(world: &World, circle: &Circle, more: &[(&str, &str)]) -> String {
    world.passes(SignedDuration::from_mins(1));
    let usual = [("flag", "no"), ("place", "home"), ("task", "tv"), ("device_out", "not_needed"), ("result", "all")];
    let unsaid = usual.iter().filter(|(name, _)| more.iter().all(|(said, _)| said != name));
    let fields: Vec<(&str, &str)> = unsaid.chain(more).copied().collect();
    circle.parent.presses(&circle.pupil.at("/observations/new"), "Save", &fields).await.redirected_to()
}

/// The titles of the lines that a page of the thread shows, in their order.
fn titles(page: &Page) -> Vec<String> {
    let html = page.html();
    html.select(&crate::page::css(".entries .entry-title")).map(crate::page::words).collect()
}

/// The titles of the lines that are marked as new.
fn new_ones(page: &Page) -> Vec<String> {
    let html = page.html();
    let (title, status) = (crate::page::css(".entry-title"), crate::page::css(".entry-head .status"));
    html.select(&crate::page::css(".entries > li"))
        .filter(|line| line.select(&status).any(|status| crate::page::words(status) == "New to you"))
        .filter_map(|line| line.select(&title).next().map(crate::page::words))
        .collect()
}
