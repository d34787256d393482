//! Coming of age (G10): from the day in the settings on, parents' access waits
//! for what the student says, by kind of record. The records officer writes it down.
//!
//! A choice is never changed; a newer one takes its place. Nothing here says who
//! is of age: that follows from the birth date and the day.

use std::collections::BTreeSet;

use askama::Template;
use axum::extract::State;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::civil::Date;

use super::super::check::{Check, LONG_TEXT, NAME};
use super::super::error::Result;
use super::super::form::{Entry, Faults, FormView, Posted};
use super::super::page::{Again, Context, Page, Shell, shell_about};
use super::super::part::{self, Facts};
use super::super::routes::Routes;
use super::super::state::App;
use super::super::visit::Visit;
use super::super::words::{self, options};
use super::limits::parents;
use crate::access::Access;
use crate::access::action::{Create, Read};
use crate::access::resource::{AccessLimits, Team};
use crate::care::consent::Category;
use crate::care::ids::AccountId;
use crate::care::rights::Told;
use crate::care::student::Coming;
use crate::store::age::{self, Choice, NewChoice};
use crate::store::{Audit, StoreError, team};

pub(super) fn routes(routes: Routes) -> Routes {
    routes.get("/students/{student}/people/age", page).post("/students/{student}/people/age", record)
}

/// Whether the student lets a parent read anything.
const LETS: [(&str, &str); 2] = [("nothing", "Nothing"), ("these", "What is ticked below")];

#[derive(Template)]
#[template(path = "people/age.html")]
struct AgePage {
    shell: Shell,
    form: FormView,
    /// Where the student stands on the way, in a sentence.
    stands: String,
    /// Whether a choice can be recorded today.
    open: bool,
    parents: Vec<(String, String)>,
    lets: Vec<(&'static str, &'static str)>,
    categories: Vec<(&'static str, String)>,
    hows: Vec<(&'static str, String)>,
    choices: Vec<ChoicePart>,
    action: String,
    back: String,
}

struct ChoicePart {
    title: String,
    facts: Facts,
}

/// What a parent may read, in words.
pub(super) fn chosen_words<'c>(categories: impl IntoIterator<Item = &'c Category>) -> String {
    let words: Vec<&str> = categories.into_iter().map(|category| category.words()).collect();
    if words.is_empty() { "nothing".to_owned() } else { words.join("; ") }
}

fn choice_part(choice: &Choice, newest: bool, visit: &Visit) -> ChoicePart {
    let zone = visit.store().clock().zone();
    let (what, recorded) = (&choice.what, words::instant(choice.recorded_at, zone));
    ChoicePart {
        title: format!("{}, {}", choice.parent, if newest { "counts now" } else { "replaced by a newer one" }),
        facts: part::facts(&[("May read", chosen_words(&what.categories))])
            .fact("In the student's words", &what.words)
            .fact("How", &words::capital(what.how.words()))
            .fact("Said on", &words::date(what.decided_on))
            .fact("Witness", &what.witness)
            .fact("Recorded", &format!("{recorded}, by {}", choice.recorded_by)),
    }
}

fn stands(coming: Coming) -> String {
    match coming {
        Coming::Later => "Rights pass to the student in more than a year. Nothing is to be done.".to_owned(),
        Coming::On(day) => format!(
            "Rights pass to the student on {}. What the student says can be recorded from that day on.",
            words::date(day)
        ),
        Coming::Since(day) => format!(
            "The rights are the student's since {}. Each parent's access waits until the student says what this parent may read.",
            words::date(day)
        ),
    }
}

async fn build(
    app: &App,
    context: &Context,
    visit: &Visit,
    access: &Access<AccessLimits, Read>,
    form: FormView,
) -> Result<AgePage> {
    let team_access = visit.open::<Team, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let found = age::list(&mut snapshot, access).await?;
    let parents = parents(&team::members(&mut snapshot, &team_access).await?, visit.actor().account);
    drop(snapshot);
    let mut seen = BTreeSet::new();
    let choices = found.iter().map(|choice| choice_part(choice, seen.insert(choice.what.account), visit)).collect();
    let coming = visit.coming_of_age();
    Ok(AgePage {
        shell: shell_about(context, visit, "Coming of age").of_form(&form),
        form,
        stands: stands(coming),
        open: matches!(coming, Coming::Since(_)) && !parents.is_empty(),
        parents,
        lets: LETS.to_vec(),
        categories: options!(Category),
        hows: options!(Told),
        choices,
        action: visit.at("/people/age"),
        back: visit.at("/people"),
    })
}

async fn page(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<AccessLimits, Read>,
) -> Result<Response> {
    Ok(Page(build(&app, &context, &visit, &access, FormView::blank(&context)).await?).into_response())
}

fn checked(entry: &Entry, since: Date, today: Date) -> std::result::Result<NewChoice, Faults> {
    let mut check = Check::new(entry);
    let account: Option<AccountId> = check.code("account", "Which parent");
    let lets = check.one_of("lets", "What this parent may read", &LETS.map(|(code, _)| code));
    let categories: BTreeSet<Category> = check.codes("categories", "Kinds of record").into_iter().collect();
    match lets {
        Some("these") if categories.is_empty() => {
            check.fault("categories", "Tick at least one kind of record, or choose Nothing.");
        }
        Some("nothing") if !categories.is_empty() => {
            check.fault("categories", "Nothing was chosen above: take the ticks away, or choose the other answer.");
        }
        _ => {}
    }
    let words = check.text("words", "In the student's words", LONG_TEXT);
    let how = check.code("how", "How the student said so");
    let decided_on = check.date("decided_on", "Day", since..=today);
    let witness = check.text("witness", "Who was there", NAME);
    check
        .build(|| Some(NewChoice { account: account?, categories, how: how?, words, decided_on: decided_on?, witness }))
}

async fn record(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<AccessLimits, Create>,
    posted: Posted,
) -> Result<Response> {
    // G10: before that day the rights are the parents', and there is nothing to
    // choose; the page says from when on there is.
    let Coming::Since(since) = visit.coming_of_age() else {
        let reading = visit.open::<AccessLimits, Read>().await?;
        let page = build(&app, &context, &visit, &reading, FormView::blank(&context)).await?;
        return Ok((StatusCode::CONFLICT, Page(page)).into_response());
    };
    let again = async |faults: Faults| {
        let form = FormView::again(&context, &posted, faults);
        let reading = visit.open::<AccessLimits, Read>().await?;
        Ok(Again(build(&app, &context, &visit, &reading, form).await?).into_response())
    };
    let new = match checked(&posted.entry, since, app.store.clock().today()) {
        Ok(new) => new,
        Err(faults) => return again(faults).await,
    };
    let to = visit.at("/people/age");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    match age::record(&mut tx, &access, &new).await {
        Ok(id) => {
            tx.commit_at(Audit::by(&access).record(id).doing("record choice"), &to).await?;
            Ok(Redirect::to(&to).into_response())
        }
        Err(StoreError::Missing) => {
            drop(tx);
            again(Faults::one("account", "Choose one of the parents listed.")).await
        }
        Err(error) => Err(error.into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    const SINCE: Date = date(2026, 11, 1);
    const TODAY: Date = date(2026, 11, 25);

    fn whole() -> Entry {
        Entry::default()
            .with("account", "0198f0a0-0000-7000-8000-000000000000")
            .with("lets", "these")
            .with("categories", "summary")
            .with("words", "Mum can read the summaries.")
            .with("how", "said")
            .with("decided_on", "2026-11-20")
            .with("witness", "Marlow Pike, counsellor")
    }

    #[test]
    fn nothing_is_a_choice_too() {
        let some = checked(&whole(), SINCE, TODAY).unwrap_or_else(|faults| panic!("{faults:?}"));
        assert_eq!(some.categories.into_iter().collect::<Vec<_>>(), [Category::Summary]);
        let mut none: Entry = whole().iter().filter(|(name, _)| *name != "categories").collect();
        none.set("lets", "nothing");
        assert!(checked(&none, SINCE, TODAY).is_ok_and(|choice| choice.categories.is_empty()));
    }

    #[test]
    fn each_missing_part_is_said_beside_its_field() {
        for (field, typed, beside) in [
            ("account", "", "account"),
            ("lets", "", "lets"),
            ("lets", "nothing", "categories"),
            ("categories", "diaries", "categories"),
            ("words", "", "words"),
            ("how", "dreamt", "how"),
            ("decided_on", "2026-10-31", "decided_on"),
            ("decided_on", "2026-11-26", "decided_on"),
            ("witness", "", "witness"),
        ] {
            let faults = checked(&whole().with(field, typed), SINCE, TODAY).err();
            assert!(faults.is_some_and(|faults| faults.of(beside).is_some()), "{field} {typed}");
        }
    }
}
