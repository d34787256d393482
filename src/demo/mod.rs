//! The demo: six invented students in Brindle Flats, at different stages.
//!
//! Their records are made by the people around them walking the real pages, in
//! the order of time, with a clock that the stories move; so nothing stands here
//! that the pages would refuse. Dates follow the real day and keep weekdays.
//! Read next: `story.rs`, then the file of any student.

mod calendar;
// The stories are kept in rows that read like the forms they fill in.
#[rustfmt::skip]
mod cast;
mod form;
#[rustfmt::skip]
mod ifeoma;
#[rustfmt::skip]
mod jonah;
#[rustfmt::skip]
mod kwame;
#[rustfmt::skip]
mod lucia;
#[rustfmt::skip]
mod mateus;
mod player;
#[rustfmt::skip]
mod pool;
#[rustfmt::skip]
mod saoirse;
mod scan;
mod story;

use anyhow::{Context, bail};

use self::calendar::Calendar;
use self::cast::{Cast, DISTRICT};
use self::player::Scene;
use crate::clock::Clock;
use crate::password::{Cost, Passwords};
use crate::store::{Audit, Store, account, setting};
use crate::web::state::App;

/// Every invented person's password.
pub const PASSWORD: &str = "brindle flats demo";

/// The setting that says whether the demo is filled.
const SETTING: &str = "demo";
/// Its value from the first account to the last line of the last story.
const FILLING: &str = "filling";

/// The least that argon2 takes: while the stories play, passwords are entered
/// for many signatures. At the end everybody gets a hash of full cost.
const QUICK: Cost = Cost { memory_kib: 8, passes: 1 };

/// The lines that a demo prints at its start: one sign-in per role, and what to
/// look at first.
pub fn sign_ins() -> String {
    let mut lines = vec!["Demo. Invented people. Everybody's password: ".to_owned() + PASSWORD];
    for (role, sign_in, first) in [
        (
            "vision teacher",
            "marisol",
            "Today: six students. One is paused, one waits for a consent, one is copied from paper, one comes of age.",
        ),
        ("classroom teacher", "dev", "Ifeoma's card; add an observation from the phone."),
        ("parent", "chiamaka", "What Ifeoma's new telescope is for, what to try at home, and a note from home."),
        ("clinician", "noor", "Two training summaries wait: Kwame's and Saoirse's. Jonah is paused by a red flag."),
        (
            "records officer",
            "thaddeus",
            "Accounts, settings, limits and ages; no student's content. The second officer is ines.",
        ),
    ] {
        lines.push(format!("  {role:<18} {sign_in}"));
        lines.push(format!("      first: {first}"));
    }
    lines.join("\n")
}

/// Fills an empty database; a demo that is there already is left as it is.
///
/// # Errors
/// When the database belongs to an installation, when an earlier filling was
/// interrupted, or when a page refuses what a story does.
pub async fn fill(app: &App) -> anyhow::Result<()> {
    let mut snapshot = app.store.snapshot().await?;
    match setting::site(&mut snapshot).await?.value(SETTING) {
        Some(FILLING) => bail!(
            "An earlier start was interrupted while it filled the demo. Delete the data folder (on PostgreSQL: empty the database) and start again."
        ),
        Some(_) => return Ok(()),
        None if account::any_for_operator(&mut snapshot).await? => bail!(
            "This database holds the accounts of an installation. Give the demo a folder of its own with --data, or a database of its own."
        ),
        None => {}
    }
    drop(snapshot);
    let calendar = Calendar::up_to(app.store.clock().today());
    let clock = app.store.clock();
    let start = calendar.instant(calendar::FIRST, 7, 0, clock.zone());
    let clock = Clock::fixed(clock.zone().clone(), start);
    let store = Store::over(app.store.db().clone(), clock.clone(), app.store.files().clone());
    let passwords = Passwords::new(QUICK)?;
    begin(&store).await?;
    let cast = Cast::gather(&store, &passwords, PASSWORD).await?;
    let router = crate::web::app(App { store: store.clone(), passwords, secure: false, ..app.clone() });
    let mut scene = Scene::new(store.clone(), router, clock);
    let steps = [
        pool::story(),
        ifeoma::story(),
        kwame::story(),
        saoirse::story(),
        jonah::story(),
        lucia::story(),
        mateus::story(),
    ];
    story::play(steps.into_iter().flatten().collect(), &mut scene, &cast, calendar).await?;
    scene.leave().await?;
    cast.lock(&store, &app.passwords, PASSWORD).await?;
    end(&app.store).await.context("the demo's last line")
}

async fn begin(store: &Store) -> anyhow::Result<()> {
    let mut tx = store.tx().await?;
    for (name, value) in [
        (SETTING, FILLING),
        ("owner", DISTRICT),
        ("help", "Thaddeus Mbeki-Lund, district office"),
        ("emergency_number", "911"),
    ] {
        setting::put_by_operator(&mut tx, name, value).await?;
    }
    tx.commit(Audit::operator("begin the demo")).await?;
    Ok(())
}

async fn end(store: &Store) -> anyhow::Result<()> {
    let mut tx = store.tx().await?;
    setting::put_by_operator(&mut tx, SETTING, "yes").await?;
    tx.commit(Audit::operator("end the demo")).await?;
    Ok(())
}
