//! What every page shares: the shell around it and how it is rendered.
//!
//! [`Context`] is what a request knows before a handler runs; [`Shell`] is what
//! the base template shows. Does not know any one page.

use std::sync::{Arc, OnceLock};

use askama::Template;
use axum::extract::FromRequestParts;
use axum::http::request::Parts;
use axum::http::{StatusCode, header};
use axum::response::{Html, IntoResponse, Response};

use super::error::{Error, Result};
use super::form::{Entry, FormView};
use super::state::App;
use super::visit::Visit;
use crate::access::{Actor, Role};
use crate::care::student::initials;
use crate::store::session::Session;
use crate::store::setting::Site;

/// What a request knows before its handler runs.
#[derive(Clone)]
pub struct Context {
    /// Who is signed in, if anyone.
    pub session: Option<Session>,
    /// The site's settings.
    pub site: Arc<Site>,
    /// The path asked for.
    pub path: String,
    /// What was sent with the request, once it was read.
    pub sent: Arc<OnceLock<Entry>>,
}

impl Context {
    /// The token every form carries, empty when nobody is signed in.
    pub fn csrf(&self) -> &str {
        self.session.as_ref().map_or("", |session| &session.csrf)
    }

    /// Who acts.
    ///
    /// # Errors
    /// [`Error::SignInNeeded`].
    pub fn actor(&self) -> Result<&Actor> {
        self.session.as_ref().map(|session| &session.actor).ok_or(Error::SignInNeeded)
    }

    /// Whether lengths are shown in feet and inches.
    pub fn imperial(&self) -> bool {
        self.session.as_ref().is_some_and(|session| session.units == "imperial")
    }

    /// The shell of a page that is not about one student.
    pub fn shell(&self, title: impl Into<String>) -> Shell {
        let person = self.session.as_ref().map(|session| {
            let actor = &session.actor;
            Person {
                name: actor.name.clone(),
                role_words: actor.role.map_or("records officer", Role::words).to_owned(),
                steward: actor.steward,
                may_open_record: actor.role == Some(Role::VisionTeacher),
                calculates: matches!(actor.role, Some(Role::VisionTeacher | Role::Clinician)),
                sees_pool: matches!(actor.role, Some(Role::VisionTeacher | Role::Clinician)) || actor.steward,
            }
        });
        Shell {
            title: title.into(),
            lang: "en",
            appearance: self.session.as_ref().map_or("auto", |session| &session.appearance).to_owned(),
            text_size: self.session.as_ref().map_or(18, |session| session.text_size).to_string(),
            person,
            csrf: self.csrf().to_owned(),
            demo: self.site.demo(),
            flash: None,
            has_faults: false,
            student: None,
            current: self.path.clone(),
        }
    }
}

impl FromRequestParts<App> for Context {
    type Rejection = Error;

    async fn from_request_parts(parts: &mut Parts, _state: &App) -> Result<Self> {
        // Put there by the layer around every route.
        parts.extensions.get::<Self>().cloned().ok_or(Error::SignInNeeded)
    }
}

/// The frame of a page.
#[derive(Debug, Clone, Default)]
pub struct Shell {
    /// The page's own title.
    pub title: String,
    /// Its language.
    pub lang: &'static str,
    /// Light, dark or auto.
    pub appearance: String,
    /// Body text in CSS pixels.
    pub text_size: String,
    /// Who is signed in.
    pub person: Option<Person>,
    /// The token of the sign-out form.
    pub csrf: String,
    /// Whether invented people are inside.
    pub demo: bool,
    /// What just happened, said once.
    pub flash: Option<String>,
    /// Whether a form came back with faults.
    pub has_faults: bool,
    /// The student the page is about.
    pub student: Option<StudentStrip>,
    /// The path, for marking the current link.
    pub current: String,
}

impl Shell {
    /// Puts a student's strip over the page.
    #[must_use]
    pub fn about(mut self, strip: StudentStrip) -> Self {
        self.student = Some(strip);
        self
    }

    /// Marks the page as one that came back with faults.
    #[must_use]
    pub fn of_form(mut self, form: &FormView) -> Self {
        self.has_faults = !form.faults.is_empty();
        self
    }
}

/// Who is signed in, as the header shows it.
#[derive(Debug, Clone, Default)]
pub struct Person {
    /// Name.
    pub name: String,
    /// Role in words.
    pub role_words: String,
    /// Whether the site's pages are shown.
    pub steward: bool,
    /// Whether a new record may be opened.
    pub may_open_record: bool,
    /// Whether the calculators are shown to them: clinical words, which a class
    /// and a family are spared. Whoever knows the address may use them.
    pub calculates: bool,
    /// Whether the loan pool is shown.
    pub sees_pool: bool,
}

/// The strip over every page about one student.
#[derive(Debug, Clone, Default)]
pub struct StudentStrip {
    /// The name, or the initials where the name may not be read.
    pub name: String,
    /// The stage of each track, in words.
    pub stages: Vec<String>,
    /// Whether device training is paused for safety.
    pub paused: bool,
    /// That an evaluation is overdue (G11), for the screens that use its figures.
    pub overdue: String,
    /// The screens this reader may open: address and words.
    pub links: Vec<(String, String)>,
    /// Where a red flag is raised.
    pub safety_href: String,
}

/// A page, rendered.
pub struct Page<T>(pub T);

impl<T: Template> IntoResponse for Page<T> {
    fn into_response(self) -> Response {
        match self.0.render() {
            Ok(body) => (
                // Records are never kept by a cache on the way or on the disk.
                [(header::CACHE_CONTROL, "no-store")],
                Html(body),
            )
                .into_response(),
            Err(error) => Error::broken(&error).into_response(),
        }
    }
}

/// A form that came back: the same page with status 422.
pub struct Again<T>(pub T);

impl<T: Template> IntoResponse for Again<T> {
    fn into_response(self) -> Response {
        let mut response = Page(self.0).into_response();
        if response.status() == StatusCode::OK {
            *response.status_mut() = StatusCode::UNPROCESSABLE_ENTITY;
        }
        response
    }
}

/// The shell of a page about one student. Its title carries the initials only:
/// a browser keeps titles in its history, on machines that others use.
pub fn shell_about(context: &Context, visit: &Visit, title: impl AsRef<str>) -> Shell {
    let title = format!("{}, {}", title.as_ref(), initials(visit.name()));
    let mut strip = visit.strip();
    if !uses_figures(&context.path) {
        strip.overdue.clear();
    }
    let mut shell = context.shell(title).about(strip);
    shell.current = below_its_screen(&context.path);
    shell
}

/// Pages of one screen that have an address of their own: the screen's links are
/// marked as for a page below it, not as for the overview above all.
const BELOW: [(&str, &str); 6] = [
    ("consents", "people/consents"),
    ("decisions", "prescription/decisions"),
    ("export", "people/export"),
    ("history", "people/history"),
    ("identity", "people/identity"),
    ("seats", "tasks/seats"),
];

/// The address by which the screens of a student find which of them this is.
fn below_its_screen(path: &str) -> String {
    // /students/{student}/SCREEN/…
    let mut parts: Vec<&str> = path.split('/').collect();
    if let Some(screen) = parts.get_mut(3)
        && let Some((_, below)) = BELOW.iter().find(|(own, _)| own == screen)
    {
        *screen = below;
    }
    parts.join("/")
}

/// Whether the screen at this address uses the figures of an evaluation (G11).
/// The overview says it with the rest of what stands beside the stages.
fn uses_figures(path: &str) -> bool {
    // /students/{student}/SCREEN/…
    let screen = path.split('/').nth(3).unwrap_or_default();
    matches!(screen, "tasks" | "seats" | "devices" | "training" | "summaries" | "review" | "card" | "prescription")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_page_with_an_address_of_its_own_lies_below_its_screen() {
        for (path, screen) in [
            ("/students/1/consents", "/students/1/people/consents"),
            ("/students/1/export", "/students/1/people/export"),
            ("/students/1/decisions/7/correct", "/students/1/prescription/decisions/7/correct"),
            ("/students/1/tasks", "/students/1/tasks"),
            ("/students/1", "/students/1"),
            ("/today", "/today"),
        ] {
            assert_eq!(below_its_screen(path), screen);
        }
    }
}
