//! The readiness list of one track: marks as the student gets there, the
//! student's own words, and the vision teacher's signature (G3, after G2).

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};

use crate::access::Access;
use crate::access::action::{Amend, Edit, Read, Sign};
use crate::access::resource::Training;
use crate::care::amendment::Kind;
use crate::care::caution::Occasion;
use crate::care::gates::{may_sign_readiness, safe_to_train};
use crate::care::readiness::{Item, Mark, Marks, Pass};
use crate::care::track::Track;
use crate::store::readiness::List;
use crate::store::{Audit, Snapshot, StoreError, amendment, journey, readiness};
use crate::web::amend::{shown, why};
use crate::web::check::{Check, SHORT_TEXT};
use crate::web::devices::{Heeded, heeded, or_usual};
use crate::web::error::{Both, Error, Result};
use crate::web::form::{Entry, Faults, FormView, Posted};
use crate::web::page::{Again, Context, Page, Shell, shell_about};
use crate::web::params::Word;
use crate::web::part::{self, Amended, Notice, Table};
use crate::web::state::App;
use crate::web::steps;
use crate::web::visit::Visit;
use crate::web::words::{self, options};

#[derive(Template)]
#[template(path = "training/readiness.html")]
struct ReadinessPage {
    shell: Shell,
    back: String,
    action: String,
    track: &'static str,
    form: FormView,
    items: Vec<ItemPart>,
    blocked: Option<Notice>,
    signed: String,
    marks: Table,
    passed: String,
    passable: Vec<(&'static str, String)>,
    agreed_words: String,
    may_edit: bool,
    cautions: Heeded,
    amended: Amended,
    /// Where a signed list is corrected, for those who may.
    amend: String,
    error: String,
    errors: Vec<ErrorPart>,
}

/// A list that was entered in error.
struct ErrorPart {
    title: String,
    why: String,
    marks: Table,
}

pub(super) struct ItemPart {
    pub(super) name: String,
    pub(super) words: String,
    pub(super) hint: &'static str,
    pub(super) marks: Vec<(&'static str, String)>,
}

/// The field of an item's mark.
fn field(item: Item) -> String {
    format!("item_{}", item.code())
}

pub(super) fn items(track: Track) -> Vec<ItemPart> {
    Item::list(track)
        .iter()
        .map(|item| ItemPart {
            name: field(*item),
            words: words::capital(item.words()),
            hint: if item.passable() { "" } else { "Training cannot start without this." },
            marks: options!(Mark)
                .into_iter()
                .filter(|(code, _)| *code != Mark::NotApplicable.code() || item.may_not_apply())
                .collect(),
        })
        .collect()
}

async fn build(
    snapshot: &mut Snapshot,
    (context, visit): (&Context, &Visit),
    access: &Access<Training, Read>,
    track: Track,
    form: Option<FormView>,
) -> Result<ReadinessPage> {
    let list = readiness::lists(snapshot, access).await?.into_iter().find(|list| list.track == track);
    let may_edit = visit.may::<Training, Edit>();
    let errors = errors(snapshot, access, track).await?;
    if list.is_none() && errors.is_empty() && !may_edit {
        return Err(Error::Hidden);
    }
    let tracks = journey::tracks(snapshot, access).await?;
    let blocked = safe_to_train(tracks.of(track)).err().map(|blocked| {
        let href = steps::address(visit.student(), blocked.first);
        part::notice("plain", "It can be filled in, not signed yet", &blocked.to_string())
            .link(&href, "Go to the step that comes first")
    });
    let signed = list
        .as_ref()
        .and_then(|list| list.signed.as_ref())
        .map(|(at, by)| format!("Signed on {} by {by}.", words::date(snapshot.date_of(*at))));
    let form = form.unwrap_or_else(|| {
        let form = FormView::filled(context, list.as_ref().map(filled).unwrap_or_default());
        match &list {
            Some(list) => form.at_version(list.version),
            None => form,
        }
    });
    let marks = marks_table("The list", track, list.as_ref());
    let amended = match &list {
        Some(list) => shown(&amendment::of_record(snapshot, access, list.id).await?, &snapshot.zone().clone()),
        None => Amended::default(),
    };
    let below = |path: &str| match signed.is_some() && visit.may::<Training, Amend>() {
        true => visit.at(&format!("/training/readiness/{}/{path}", track.code())),
        false => String::new(),
    };
    let kinds = tracks.of(track).recommendation.iter().flat_map(|now| &now.devices).map(|device| device.kind).collect();
    Ok(ReadinessPage {
        shell: shell_about(context, visit, format!("Readiness, {} track", track.words())).of_form(&form),
        amend: below("amend"),
        error: below("error"),
        amended,
        errors,
        back: visit.at("/training"),
        action: visit.at(&format!("/training/readiness/{}", track.code())),
        track: track.words(),
        items: items(track),
        blocked: blocked.filter(|_| signed.is_none() && may_edit),
        signed: signed.unwrap_or_default(),
        marks,
        passed: list.as_ref().map(passed_words).unwrap_or_default(),
        passable: Item::list(track)
            .iter()
            .filter(|item| item.passable())
            .map(|item| (item.code(), words::capital(item.words())))
            .collect(),
        agreed_words: list.map(|list| list.agreed_words).unwrap_or_default(),
        may_edit,
        cautions: heeded(&or_usual(track, kinds), Occasion::Session),
        form,
    })
}

fn marks_table(title: &str, track: Track, list: Option<&List>) -> Table {
    let mut marks = part::table(title).column("Item").column("Mark");
    for item in Item::list(track) {
        let mark = list.and_then(|list| list.marks.get(item)).map_or("no mark yet", |mark| mark.words());
        marks.push([words::capital(item.words()), mark.to_owned()]);
    }
    marks
}

/// The lists of the track that count as never signed, each with why.
async fn errors(snapshot: &mut Snapshot, access: &Access<Training, Read>, track: Track) -> Result<Vec<ErrorPart>> {
    let reasons = amendment::in_error(snapshot, access, Kind::Readiness).await?;
    let lists = readiness::errors(snapshot, access).await?.into_iter().filter(|list| list.track == track);
    Ok(lists
        .map(|list| {
            let signed = list.signed.as_ref();
            let title = signed.map_or_else(String::new, |(at, by)| {
                format!("Signed on {} by {by}", words::date(snapshot.date_of(*at)))
            });
            ErrorPart {
                why: reasons.get(&list.id.to_string()).map(|one| why(one, snapshot.zone())).unwrap_or_default(),
                marks: marks_table(&title, track, Some(&list)),
                title,
            }
        })
        .collect())
}

pub(super) fn filled(list: &List) -> Entry {
    let mut entry = Entry::default().with("agreed_words", list.agreed_words.clone());
    for (item, mark) in &list.marks {
        entry.set(field(*item), mark.code());
    }
    entry
}

pub(super) async fn form(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Word(track): Word<Track>,
) -> Result<Response> {
    let access = visit.open::<Training, Read>().await?;
    let mut snapshot = app.store.snapshot().await?;
    let page = build(&mut snapshot, (&context, &visit), &access, track, None).await?;
    Ok(Page(page).into_response())
}

/// The item passed over, and why; nothing, none was.
pub(super) fn passed_words(list: &List) -> String {
    list.passed.as_ref().map_or_else(String::new, |(item, reason)| {
        format!("Passed over with a reason: \u{201c}{}\u{201d}, because: {reason}", item.words())
    })
}

/// A readiness list as it was sent.
pub(super) struct Wanted {
    pub(super) marks: Marks,
    pub(super) agreed_words: String,
    /// One item passed over, and why (G3).
    pub(super) passed: Option<(Item, String)>,
}

/// Marks and the student's words, as chosen.
fn wanted(entry: &Entry, track: Track) -> std::result::Result<Wanted, Faults> {
    let mut check = Check::new(entry);
    let signing = check.typed("do") == "sign";
    let wanted = read(&mut check, track, signing);
    check.build(|| Some(wanted))
}

pub(super) fn read(check: &mut Check<'_>, track: Track, signing: bool) -> Wanted {
    let passed = passed(check, track, signing);
    let mut marks = Marks::new();
    for item in Item::list(track) {
        let mark: Option<Mark> = check.opt_code(&field(*item), item.words());
        match mark {
            Some(Mark::NotApplicable) if !item.may_not_apply() => {
                check.fault(field(*item), "This item applies to every device. Choose another mark.");
            }
            Some(mark) => {
                marks.insert(*item, mark);
            }
            None => {}
        }
    }
    let agreed_words = check.opt_text("agreed_words", "The student\u{2019}s own words", SHORT_TEXT);
    if signing && agreed_words.is_empty() {
        check.fault("agreed_words", "Write how the student said or showed it: own words, a sign, a gesture.");
    }
    Wanted { marks, agreed_words, passed }
}

/// G3: one item may be passed over with a reason, when the list is signed.
fn passed(check: &mut Check<'_>, track: Track, signing: bool) -> Option<(Item, String)> {
    let item: Option<Item> = check.opt_code("passed", "Pass over one item");
    let reason = check.opt_text("passed_reason", "Why training may begin without it", SHORT_TEXT);
    match item {
        None if !reason.is_empty() => check.fault("passed", "Choose the item this reason is for, or clear the reason."),
        None => {}
        Some(item) if !item.passable() || !Item::list(track).contains(&item) => {
            let words = item.words();
            check.fault("passed", format!("\u{201c}{words}\u{201d} cannot be passed over: choose another, or none."));
        }
        Some(_) if signing && reason.is_empty() => {
            check.fault("passed_reason", "Write why training may begin without this item. It is kept with the list.");
        }
        Some(item) => return Some((item, reason)),
    }
    None
}

pub(super) async fn save(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    Word(track): Word<Track>,
    posted: Posted,
) -> Result<Response> {
    let signing = posted.entry.get("do") == "sign";
    let access = visit.open::<Training, Edit>().await?;
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let Wanted { marks, agreed_words: agreed, passed } = match wanted(&posted.entry, track) {
        Ok(wanted) => wanted,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            let page = build(&mut tx, (&context, &visit), &access.read(), track, Some(form)).await?;
            return Ok(Again(page).into_response());
        }
    };
    let kept = readiness::lists(&mut tx, &access).await?.into_iter().find(|list| list.track == track);
    let back = visit.at(&format!("/training/readiness/{}", track.code()));
    if kept.as_ref().map(|list| list.version) != posted.version
        || kept.as_ref().is_some_and(|list| list.signed.is_some())
    {
        return Err(Error::Stale(Box::new(both(back, kept.as_ref(), &marks, &agreed, track))));
    }
    let stale = |error| match error {
        StoreError::Stale | StoreError::Taken => {
            Error::Stale(Box::new(both(back.clone(), kept.as_ref(), &marks, &agreed, track)))
        }
        error => error.into(),
    };
    if signing {
        let access = visit.open::<Training, Sign>().await?;
        let tracks = journey::tracks(&mut tx, &access).await?;
        let blocked = |blocked| steps::blocked(visit.student(), blocked);
        let safe = safe_to_train(tracks.of(track)).map_err(blocked)?;
        let pass = passed.as_ref().map(|(item, reason)| Pass { item: *item, reason });
        let may = match may_sign_readiness(safe, &marks, pass) {
            Ok(may) => may,
            Err(blocked) => {
                let form = FormView::again(
                    &context,
                    &posted,
                    open_items(track, &marks, pass.map(|pass| pass.item), &blocked.to_string()),
                );
                let page = build(&mut tx, (&context, &visit), &access.read(), track, Some(form)).await?;
                return Ok(Again(page).into_response());
            }
        };
        let id = readiness::sign(&mut tx, &access, &may, posted.version, &agreed).await.map_err(stale)?;
        let location = visit.at("/training");
        tx.commit_at(Audit::by(&access).record(id).told("signed readiness").track(track), &location).await?;
        return Ok(Redirect::to(&location).into_response());
    }
    let id = readiness::save(&mut tx, &access, track, posted.version, &marks, &agreed).await.map_err(stale)?;
    tx.commit_at(Audit::by(&access).record(id), &back).await?;
    Ok(Redirect::to(&back).into_response())
}

/// What the gate said, and the items that are not there yet.
pub(super) fn open_items(track: Track, marks: &Marks, passed: Option<Item>, said: &str) -> Faults {
    let mut faults = Faults::one("", said);
    let asked = Item::list(track).iter().filter(|item| passed != Some(**item));
    for item in asked.filter(|item| !marks.get(item).is_some_and(|mark| item.met_by(*mark))) {
        let words = words::capital(item.words());
        faults.add(field(*item), format!("{words}: yes, or with help, is needed to sign."));
    }
    faults
}

/// What differs between the list as saved meanwhile and as just sent.
pub(super) fn both(back: String, theirs: Option<&List>, marks: &Marks, agreed: &str, track: Track) -> Both {
    let words = |mark: Option<&Mark>| mark.map_or("no mark", |mark| mark.words()).to_owned();
    let mut rows: Vec<_> = Item::list(track)
        .iter()
        .map(|item| {
            let theirs = theirs.and_then(|list| list.marks.get(item));
            (words::capital(item.words()), words(theirs), words(marks.get(item)))
        })
        .collect();
    let theirs = theirs.map(|list| list.agreed_words.clone()).unwrap_or_default();
    rows.push(("The student\u{2019}s own words".to_owned(), theirs, agreed.to_owned()));
    rows.retain(|(_, theirs, yours)| theirs != yours);
    Both { back, rows }
}
