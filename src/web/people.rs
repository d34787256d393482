//! The team of one student: members, links that invite, how to reach the
//! family, and where the two consents stand.
//!
//! Signing and withdrawing a consent is in [`super::consents`], what an order
//! leaves to an adult in `limits`, what a student of age says in `age`.

mod age;
pub(super) mod contacts;
mod directions;
mod leaving;
mod limits;
pub(super) mod rights;

use askama::Template;
use axum::extract::State;
use axum::response::{IntoResponse, Redirect, Response};
use jiff::Timestamp;
use jiff::civil::Date;

use super::amend::shown;
use super::check::{Check, NAME};
use super::error::Result;
use super::form::{Entry, Faults, FormView, Posted};
use super::page::{Again, Context, Page, Shell, shell_about};
use super::params::Record;
use super::part::{Amended, Notice};
use super::routes::Routes;
use super::service::draft_words;
use super::state::App;
use super::today::due::{Renewal, renewals};
use super::visit::Visit;
use super::{consents, export, words};
use crate::access::action::{Create, Edit, Read, Reads};
use crate::access::resource::{
    AccessLimits, Consents, Contacts, DisclosureRecord, Identity, Resource, Team as TeamRow,
};
use crate::access::{Access, Role, Side};
use crate::care::consent::{Category, Direction, Party};
use crate::care::ids::{AccountId, InvitationId};
use crate::store::invitation::{self, NewInvitation};
use crate::store::team::Member;
use crate::store::{Audit, amendment, consent, contact, handover, sending, team as store};

pub(super) use directions::{DirectionLine, Directions, signs_on_screen};

/// The routes of this area.
pub fn routes(routes: Routes) -> Routes {
    let routes = routes
        .get("/students/{student}/people", page)
        .post("/students/{student}/people/invitations", invite)
        .post("/students/{student}/people/invitations/{record}/withdraw", withdraw)
        .get("/students/{student}/people/members/{record}/end", leaving::page)
        .post("/students/{student}/people/members/{record}/end", leaving::end);
    age::routes(limits::routes(contacts::routes(routes)))
}

/// The team as it stands.
pub(super) struct Team {
    pub(super) members: Vec<Member>,
    invitations: Vec<invitation::Listed>,
    today: Date,
}

/// The team with its open links.
pub(super) async fn team(app: &App, access: &Access<TeamRow, impl Reads>) -> Result<Team> {
    let mut snapshot = app.store.snapshot().await?;
    Ok(Team {
        members: store::members(&mut snapshot, access).await?,
        invitations: invitation::list(&mut snapshot, access).await?,
        today: snapshot.today(),
    })
}

impl Team {
    fn present(&self) -> impl Iterator<Item = &Member> {
        self.members
            .iter()
            .filter(|member| member.starts_on <= self.today && member.ends_on.is_none_or(|end| end > self.today))
    }

    /// The clinics of the clinicians on the team, each once.
    pub(super) fn clinics(&self) -> Vec<String> {
        let mut clinics: Vec<String> = Vec::new();
        for member in self.present().filter(|member| member.role == Role::Clinician) {
            if let Some(clinic) = &member.clinic
                && !clinics.contains(clinic)
            {
                clinics.push(clinic.clone());
            }
        }
        clinics
    }

    /// The parents on the team; those with full rights may sign.
    fn rights_holders(&self) -> Vec<String> {
        self.present()
            .filter(|member| member.role == Role::Parent && member.full_rights)
            .map(|member| with_relation(&member.name, &member.relation))
            .collect()
    }

    pub(super) fn parents(&self) -> Vec<&Member> {
        self.present().filter(|member| member.role == Role::Parent).collect()
    }

    /// One line for each present member.
    pub(super) fn member_lines(&self) -> Vec<String> {
        self.present().map(|member| format!("{}, {}", member.name, role_words(member))).collect()
    }

    /// One line for each link that still works.
    pub(super) fn open_invitations(&self, now: Timestamp) -> Vec<String> {
        self.invitations
            .iter()
            .filter(|link| link.used_at.is_none() && link.withdrawn_at.is_none() && link.expires_at > now)
            .map(|link| format!("{}, {}", link.name, link.role.words()))
            .collect()
    }
}

fn with_relation(name: &str, relation: &str) -> String {
    if relation.is_empty() { name.to_owned() } else { format!("{name} ({relation})") }
}

fn role_words(member: &Member) -> String {
    let role = member.role.words();
    match (&member.clinic, member.relation.as_str()) {
        (Some(clinic), _) if member.role == Role::Clinician => format!("{role}, {clinic}"),
        (_, "") => role.to_owned(),
        (_, relation) => format!("{role}, {relation}"),
    }
}

/// The closed lists of the form that invites.
pub(super) struct InviteLists {
    pub(super) roles: Vec<(&'static str, &'static str)>,
}

impl InviteLists {
    pub(super) fn new() -> Self {
        Self {
            roles: vec![
                ("parent", "Parent or guardian"),
                ("classroom_teacher", "Classroom teacher"),
                ("clinician", "Clinician, who has an account already"),
                ("vision_teacher", "Vision teacher, who has an account already"),
            ],
        }
    }
}

struct MemberCard {
    name: String,
    role: String,
    since: String,
    sees: String,
    end: Option<String>,
}

struct InvitationCard {
    words: String,
    state: String,
    withdraw: Option<String>,
}

struct ConsentLine {
    href: String,
    words: String,
    state: &'static str,
}

struct ContactCard {
    name: String,
    facts: Vec<(String, String)>,
    edit: Option<String>,
    amended: Amended,
}

#[derive(Template)]
#[template(path = "people/page.html")]
struct PeoplePage {
    shell: Shell,
    members: Vec<MemberCard>,
    former: Vec<String>,
    /// Drafts that changed hands and are not signed yet.
    handed: Vec<String>,
    invitations: Vec<InvitationCard>,
    form: FormView,
    lists: InviteLists,
    invite_action: Option<String>,
    directions: Option<Vec<DirectionLine>>,
    consents: Vec<ConsentLine>,
    sent: Vec<String>,
    contacts: Option<Vec<ContactCard>>,
    add_contact: Option<String>,
    own_contact_only: bool,
    history: Option<String>,
    take_along: Option<String>,
    all_consents: Option<String>,
    told: Vec<String>,
    identity: Option<String>,
    notices: Vec<Notice>,
    /// Consents that end soon or ended.
    due: Vec<String>,
    /// The records officer's pages: address and words.
    office: Vec<(String, &'static str)>,
}

/// What a member of this role can see, in a sentence.
fn sees(member: &Member, covered: &[&'static str], rights: &rights::Rights, reader: AccountId) -> String {
    match member.role {
        Role::VisionTeacher => "Everything that is entered at school and at home, and what the clinic sent.".to_owned(),
        Role::ClassroomTeacher => {
            "Name, age and grade, what to see and from where, the released classroom card, and own entries. Nothing about the eyes.".to_owned()
        }
        Role::Parent => rights.of_parent(member, reader),
        Role::Clinician if covered.is_empty() => "Initials only, until a consent from the school to the clinic names this clinic.".to_owned(),
        Role::Clinician => format!("What the consent covers: {}.", covered.join("; ")),
    }
}

async fn build(app: &App, context: &Context, visit: &Visit, form: FormView) -> Result<PeoplePage> {
    visit.opens_with::<TeamRow>(&[Consents::ROW, Contacts::ROW]).await?;
    let access = visit.open::<TeamRow, Read>().await?;
    let consents_access = visit.open_if::<Consents, Read>().await?;
    let contacts_access = visit.open_if::<Contacts, Read>().await?;
    let now = app.store.clock().now();
    let zone = app.store.clock().zone().clone();
    let team = team(app, &access).await?;
    let directions = match &consents_access {
        Some(access) => Some(Directions::of(app, access, &team, &context.site).await?),
        None => None,
    };
    let covered = |member: &Member| -> Vec<&'static str> {
        let clinic = member.clinic.as_deref().and_then(|clinic| Party::new(clinic).ok());
        let listed = directions.as_ref().map_or(&[][..], |directions| &directions.listed);
        Category::ALL
            .iter()
            .filter(|category| {
                listed.iter().any(|listed| {
                    Some(&listed.consent.to) == clinic.as_ref()
                        && listed.consent.in_force(team.today, Direction::SchoolToClinic, **category)
                })
            })
            .map(|category| category.words())
            .collect()
    };
    let may_edit = visit.may::<TeamRow, Edit>();
    let rights = rights::Rights::of(app, visit, &access).await?;
    let reader = visit.actor().account;
    let members = team
        .present()
        .map(|member| MemberCard {
            name: member.name.clone(),
            role: if member.lead { format!("{}, leads the record", role_words(member)) } else { role_words(member) },
            since: words::date(member.starts_on),
            sees: sees(member, &covered(member), &rights, reader),
            end: may_edit.then(|| visit.at(&format!("/people/members/{}/end", member.id))),
        })
        .collect();
    let former = team
        .members
        .iter()
        .filter(|member| member.ends_on.is_some_and(|end| end <= team.today))
        .map(|member| {
            let end = member.ends_on.map_or(String::new(), words::date);
            format!("{}, {}, until {end}", member.name, role_words(member))
        })
        .collect();
    let invitations = team
        .invitations
        .iter()
        .map(|link| {
            let open = link.used_at.is_none() && link.withdrawn_at.is_none() && link.expires_at > now;
            let state = match (link.used_at, link.withdrawn_at) {
                (Some(at), _) => format!("used on {}", words::instant(at, &zone)),
                (None, Some(at)) => format!("withdrawn on {}", words::instant(at, &zone)),
                (None, None) if open => format!("works until {}", words::instant(link.expires_at, &zone)),
                (None, None) => "ran out, not used".to_owned(),
            };
            InvitationCard {
                words: format!("{}, {}", link.name, link.role.words()),
                state,
                withdraw: (open && may_edit).then(|| visit.at(&format!("/people/invitations/{}/withdraw", link.id))),
            }
        })
        .collect();
    let mut snapshot = app.store.snapshot().await?;
    let handed = handover::open(&mut snapshot, &access)
        .await?
        .into_iter()
        .map(|one| {
            let to = one.to.unwrap_or_else(|| "the records officer, until somebody takes it".to_owned());
            format!("{} that {} began: now with {to}", words::capital(draft_words(&one.kind)), one.from)
        })
        .collect();
    let sent = match &consents_access {
        Some(access) => sending::list(&mut snapshot, access)
            .await?
            .into_iter()
            .map(|sent| {
                let side = if sent.to_side == Side::Clinic { "to the clinic" } else { "to the school" };
                format!("{}, {side}, {}", words::capital(&sent.document), words::instant(sent.at, &zone))
            })
            .collect(),
        None => Vec::new(),
    };
    let told = match &consents_access {
        Some(access) => consents::notes(&mut snapshot, access).await?,
        None => Vec::new(),
    };
    let contacts = match &contacts_access {
        Some(access) => {
            let editable = visit.may::<Contacts, Edit>();
            let found = contact::list(&mut snapshot, access).await?;
            let zone = snapshot.zone().clone();
            let mut cards = Vec::new();
            for one in found {
                let amended = shown(&amendment::of_record(&mut snapshot, access, one.id).await?, &zone);
                cards.push(contact_card(one, visit, (editable, amended)));
            }
            Some(cards)
        }
        None => None,
    };
    drop(snapshot);
    let consents = directions.as_ref().map_or(Vec::new(), |directions| {
        directions.listed.iter().map(|listed| consent_line(listed, team.today, visit)).collect()
    });
    let due = directions.as_ref().map_or(Vec::new(), |directions| {
        let consents: Vec<_> = directions.listed.iter().map(|listed| listed.consent.clone()).collect();
        renewals(&consents, team.today).iter().map(Renewal::words).collect()
    });
    let mut office = Vec::new();
    if visit.may::<AccessLimits, Read>() {
        office.push((visit.at("/people/limits"), "Access limits"));
        office.push((visit.at("/people/age"), "Coming of age"));
    }
    Ok(PeoplePage {
        notices: rights::told(app, visit).await?,
        due,
        office,
        shell: shell_about(context, visit, "People and consent").of_form(&form),
        members,
        former,
        handed,
        invitations,
        form,
        lists: InviteLists::new(),
        invite_action: visit.may::<TeamRow, Create>().then(|| visit.at("/people/invitations")),
        directions: directions.map(|directions| directions.lines(visit)),
        consents,
        sent,
        own_contact_only: contacts_access.as_ref().is_some_and(|access| access.limits().own_only),
        contacts,
        add_contact: visit.may::<Contacts, Create>().then(|| visit.at("/people/contacts/new")),
        history: visit.may::<DisclosureRecord, Read>().then(|| visit.at("/history")),
        take_along: export::may_take(visit).await?.then(|| visit.at("/export")),
        all_consents: consents_access.is_some().then(|| visit.at("/consents")),
        told,
        identity: visit.may::<Identity, Edit>().then(|| visit.at("/identity")),
    })
}

fn consent_line(listed: &consent::Listed, today: Date, visit: &Visit) -> ConsentLine {
    let consent = &listed.consent;
    ConsentLine {
        href: visit.at(&format!("/people/consents/{}", consent.id)),
        words: format!("{}, by {}", words::capital(consent.direction.words()), consent.signer),
        state: state_of(listed, today),
    }
}

/// Where a consent stands on a day.
pub(super) fn state_of(listed: &consent::Listed, today: Date) -> &'static str {
    let consent = &listed.consent;
    if listed.withdrawal.is_some() {
        "withdrawn"
    } else if consent.start > today {
        "starts later"
    } else if consent.counts(today, consent.direction) {
        "in force"
    } else {
        "ended"
    }
}

fn contact_card(one: contact::Contact, visit: &Visit, (editable, amended): (bool, Amended)) -> ContactCard {
    let what = one.what;
    let facts = [
        ("Relation", what.relation),
        ("Telephone", what.phone),
        ("E-mail", what.email),
        ("Language", what.language),
        ("Needs", what.access_needs),
    ];
    ContactCard {
        amended: amended.about(&what.name),
        name: what.name,
        facts: facts
            .into_iter()
            .filter(|(_, value)| !value.is_empty())
            .map(|(term, value)| (term.to_owned(), value))
            .collect(),
        edit: editable.then(|| visit.at(&format!("/people/contacts/{}", one.id))),
    }
}

async fn page(State(app): State<App>, context: Context, visit: Visit) -> Result<Response> {
    Ok(Page(build(&app, &context, &visit, FormView::blank(&context)).await?).into_response())
}

#[derive(Template)]
#[template(path = "people/invited.html")]
struct InvitedPage {
    shell: Shell,
    name: String,
    role: &'static str,
    link: String,
    until: String,
    back: String,
    intake: Option<String>,
}

fn wanted(entry: &Entry) -> std::result::Result<NewInvitation, Faults> {
    let mut check = Check::new(entry);
    let role: Option<Role> = check.code("role", "Who is invited");
    let name = check.text("invited_name", "Name", NAME);
    let relation = if role == Some(Role::Parent) {
        check.text("relation", "Relation to the student", NAME)
    } else {
        check.opt_text("relation", "Relation to the student", NAME)
    };
    check.build(|| Some(NewInvitation { role: role?, name, relation }))
}

async fn invite(
    State(app): State<App>,
    context: Context,
    visit: Visit,
    access: Access<TeamRow, Create>,
    posted: Posted,
) -> Result<Response> {
    let new = match wanted(&posted.entry) {
        Ok(new) => new,
        Err(faults) => {
            let form = FormView::again(&context, &posted, faults);
            return Ok(Again(build(&app, &context, &visit, form).await?).into_response());
        }
    };
    let back = visit.at("/people");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    let (id, token) = invitation::create(&mut tx, &access, &new).await?;
    let until = invitation::ends(tx.now());
    tx.commit_at(Audit::by(&access).record(id).told("invited"), &back).await?;
    // The secret is not stored, so the answer itself shows it; a repeat of the
    // form leads to the list, where it is not.
    Ok(Page(InvitedPage {
        shell: shell_about(&context, &visit, "The link is made"),
        name: new.name,
        role: new.role.words(),
        link: format!("{}/invite/{token}", app.address.trim_end_matches('/')),
        until: words::instant(until, app.store.clock().zone()),
        back,
        intake: (visit.role() == Some(Role::VisionTeacher)).then(|| visit.at("/intake/people")),
    })
    .into_response())
}

async fn withdraw(
    State(app): State<App>,
    visit: Visit,
    access: Access<TeamRow, Edit>,
    Record(id): Record<InvitationId>,
    posted: Posted,
) -> Result<Response> {
    let to = visit.at("/people");
    let mut tx = app.store.tx().await?;
    tx.claim(&posted.key, Some(access.actor().account)).await?;
    invitation::withdraw(&mut tx, &access, id).await?;
    tx.commit_at(Audit::by(&access).record(id).doing("withdraw link"), &to).await?;
    Ok(Redirect::to(&to).into_response())
}
