//! Calculators: the figures of sight and of devices by hand.
//!
//! Anybody signed in may ask. Nothing here is about a student and nothing is
//! kept: a form asks by its address, which can be kept and shared. A calculator
//! is one entry in the table of its topic; its figures are those of
//! [`crate::compute`].
//! Read next: [`entry`] for what an entry declares, `answer.rs` for the asking.

use askama::Template;
use axum::extract::RawQuery;
use axum::response::{IntoResponse, Response};

mod acuity;
mod answer;
mod board;
mod contrast;
pub mod entry;
mod fields;
mod light;
mod magnifier;
mod read;
mod reading;
mod refraction;
mod skill;
mod telescope;
mod told;

use entry::{Calculator, Care, Field, Fill, Takes};

use super::error::{Error, Result};
use super::form::{Entry, FormView};
use super::page::{Again, Context, Page, Shell};
use super::params::Word;
use super::part::{Figure, Group, How, Piece};
use super::routes::Routes;
use super::words;
use crate::care::caution::{Caution, Occasion, cautions};
use crate::care::track::DeviceKind;
use crate::vision::length::{self, shown};

/// The calculators by topic, in the order in which they are listed.
const TOPICS: [(&str, &[Calculator]); 10] = [
    ("Acuity and print", acuity::ALL),
    ("Angles, boards and seats", board::ALL),
    ("Telescopes", telescope::ALL),
    ("Fields of a telescope by its design", fields::ALL),
    ("Magnifiers and reading adds", magnifier::ALL),
    ("Contrast", contrast::ALL),
    ("Light", light::ALL),
    ("Refraction", refraction::ALL),
    ("Reading and copying", reading::ALL),
    ("Skills", skill::ALL),
];

/// What a school asks most, by its words: where to sit, how large to write, what
/// a device shows, which acuity a report means.
const FIRST: [&str; 6] = ["farthest-seat", "smallest-letter", "board-letter", "board-coverage", "acuity", "copying"];

/// The routes of this area.
pub fn routes(routes: Routes) -> Routes {
    routes.get("/calculators", list).get("/calculators/{word}", one)
}

/// Every calculator there is.
pub fn all() -> impl Iterator<Item = &'static Calculator> {
    TOPICS.iter().flat_map(|(_, calculators)| calculators.iter())
}

/// The address of a calculator.
fn address(calculator: &Calculator) -> String {
    format!("/calculators/{}", calculator.word)
}

#[derive(Template)]
#[template(path = "calculators/list.html")]
struct ListPage {
    shell: Shell,
    /// The way down to each topic.
    jumps: Vec<Jump>,
    /// What is asked most in a school, before everything there is.
    first: Vec<Link>,
    topics: Vec<Topic>,
}

struct Jump {
    href: String,
    title: &'static str,
}

struct Topic {
    anchor: String,
    title: &'static str,
    links: Vec<Link>,
}

struct Link {
    href: String,
    title: &'static str,
    question: &'static str,
}

#[derive(Template)]
#[template(path = "calculators/one.html")]
struct OnePage {
    shell: Shell,
    title: &'static str,
    question: &'static str,
    cautions: Vec<&'static str>,
    power: bool,
    form: FormView,
    action: String,
    fields: Group,
    example: String,
    figures: Vec<Figure>,
    how: Option<How>,
}

async fn list(context: Context) -> Page<ListPage> {
    let link = |one: &Calculator| Link { href: address(one), title: one.title, question: one.question };
    let anchored = |title: &str| title.to_lowercase().replace([',', ' '], "-").replace("--", "-");
    let jumps = TOPICS.iter().map(|(title, _)| Jump { href: format!("#{}", anchored(title)), title }).collect();
    let first = FIRST.iter().filter_map(|word| all().find(|one| one.word == *word)).map(link).collect();
    let topics = TOPICS
        .iter()
        .map(|(title, calculators)| Topic {
            anchor: anchored(title),
            title,
            links: calculators.iter().map(link).collect(),
        })
        .collect();
    Page(ListPage { shell: context.shell("Calculators"), jumps, first, topics })
}

async fn one(context: Context, Word(word): Word<String>, RawQuery(query): RawQuery) -> Result<Response> {
    let calculator = all().find(|calculator| calculator.word == word).ok_or(Error::Hidden)?;
    let units = words::units(&context);
    let entry = Entry::of_query(query.as_deref());
    // A first visit asks nothing, and neither does an address with foreign words in it.
    let asked = calculator.fields.iter().any(|field| entry.iter().any(|(name, _)| name == field.name));
    let found = asked.then(|| answer::answer(calculator, &entry, units));
    let mut form = FormView::filled(&context, entry);
    let mut page = OnePage {
        shell: Shell::default(),
        title: calculator.title,
        question: calculator.question,
        cautions: heeded(calculator.care),
        power: calculator.care != Care::Plain,
        form: FormView::default(),
        action: address(calculator),
        fields: Group::default(),
        example: example(calculator, units),
        figures: Vec::new(),
        how: None,
    };
    let mut faulty = false;
    match found {
        None => {}
        Some(Ok(found)) => {
            page.figures = found.figures;
            page.how = Some(found.how);
        }
        Some(Err(faults)) => {
            form.faults = faults;
            faulty = true;
        }
    }
    page.shell = context.shell(calculator.title).of_form(&form);
    page.fields = calculator.fields.iter().map(|field| piece(&form, field, units)).collect();
    page.form = form;
    Ok(if faulty { Again(page).into_response() } else { Page(page).into_response() })
}

/// The cautions of a screen about such a device.
fn heeded(care: Care) -> Vec<&'static str> {
    let kind = match care {
        Care::Telescope => DeviceKind::HandheldMonocular,
        Care::Magnifier => DeviceKind::HandMagnifier,
        Care::Plain | Care::Power => return Vec::new(),
    };
    cautions(kind, Occasion::Screen).into_iter().map(Caution::words).collect()
}

/// An example in the units of the account.
fn told(field: &Field, units: shown::Units) -> String {
    let imperial = units == shown::Units::Imperial;
    match (field.takes, length::parse(field.example)) {
        (Takes::Far | Takes::Aside, Ok(metres)) if imperial => shown::distance(metres, units),
        (Takes::Near, Ok(metres)) if imperial => shown::letter_height(metres, units),
        _ => field.example.to_owned(),
    }
}

/// The address that asks the example.
fn example(calculator: &Calculator, units: shown::Units) -> String {
    let mut query = form_urlencoded::Serializer::new(String::new());
    for field in calculator.fields.iter().filter(|field| !field.example.is_empty()) {
        query.append_pair(field.name, &told(field, units));
    }
    format!("{}?{}", address(calculator), query.finish())
}

fn piece(form: &FormView, field: &Field, units: shown::Units) -> Piece {
    let example = told(field, units);
    let hint = match (field.hint, example.as_str()) {
        (hint, "") => hint.to_owned(),
        // Such a hint says already what the 0 is for.
        (hint, "0") if hint.starts_with("0 ") => hint.to_owned(),
        (_, _) if matches!(field.takes, Takes::Choice(_)) => field.hint.to_owned(),
        ("", example) => format!("For example {example}"),
        (hint, example) => format!("{hint} For example {example}"),
    };
    let shown = match field.takes {
        Takes::Choice(words) => return Piece::from(form.radios(field.name, field.label, words).hint(&hint)),
        Takes::Number(unit) if !unit.is_empty() => form.decimal(field.name, field.label).unit(unit),
        Takes::Percent => form.decimal(field.name, field.label).unit("%"),
        Takes::Count => form.whole(field.name, field.label),
        Takes::Numbers(unit) => form.text(field.name, field.label).wide().unit(unit),
        Takes::Speeds => form.text(field.name, field.label).wide().unit("words a minute"),
        _ => form.decimal(field.name, field.label),
    };
    let shown = shown.hint(&hint);
    Piece::from(if field.fill == Fill::Optional { shown.optional() } else { shown })
}
