//! How a team comes together when nobody set anything up: accounts made by the
//! records officer or by a link, a record opened, both consents signed on screen.

use crate::page::Page;
use crate::people::{PASSWORD, Person};
use crate::world::{Pupil, World};

/// The records officer makes an account; its person signs in with it.
pub(super) async fn employs(
    world: &World,
    steward: &Person,
    (role, name, sign_in): (&str, &str, &str),
    clinic: &[(&str, &str)],
) -> Person {
    let mut fields = vec![
        ("role", role),
        ("name", name),
        ("sign_in", sign_in),
        ("password", PASSWORD),
        ("password_again", PASSWORD),
    ];
    fields.extend(clinic);
    steward.presses("/steward", "Make the account", &fields).await.redirected_to();
    let person = known_as(world, name, sign_in);
    person.signs_in().await;
    person
}

/// Somebody uses a link to make an account and finds the student there.
pub(super) async fn joins_anew(world: &World, link: &str, name: &str, sign_in: &str) -> Person {
    let person = known_as(world, name, sign_in);
    let fields = [("name", name), ("sign_in", sign_in), ("password", PASSWORD), ("password_again", PASSWORD)];
    let to = person.presses(link, "Make the account and join", &fields).await.redirected_to();
    person.opens(&to).await.ok();
    person
}

/// The student whose record has this address.
pub(super) fn opened(student: &str, name: &str) -> Pupil {
    let id = student.rsplit('/').next().and_then(|id| id.parse().ok());
    Pupil { id: id.unwrap_or_else(|| panic!("{student} names no student")), name: name.to_owned() }
}

/// Somebody whose account is about to be made.
fn known_as(world: &World, name: &str, sign_in: &str) -> Person {
    let mut person = world.stranger();
    (person.name, person.sign_in) = (name.to_owned(), sign_in.to_owned());
    world.knows(&person);
    person
}

/// The link that a page shows as text, to be copied.
pub(super) fn link_on(page: &Page) -> String {
    let seen = page.seen();
    let from = seen.find("/invite/").unwrap_or_else(|| panic!("no link in {seen}"));
    seen[from..].split_whitespace().next().unwrap_or_default().to_owned()
}

/// The vision teacher makes a link in the step about people.
pub(super) async fn invites(teacher: &Person, student: &str, (role, name, relation): (&str, &str, &str)) -> String {
    let fields = [("role", role), ("invited_name", name), ("relation", relation)];
    link_on(&teacher.presses(&format!("{student}/intake/people"), "Make the link", &fields).await.ok())
}

/// A parent signs one consent on screen, for everything that the page offers.
pub(super) async fn consents(parent: &Person, student: &str, way: &str, relation: &str) {
    let path = format!("{student}/people/consent/{way}");
    let page = parent.opens(&path).await.ok();
    let offered = page.choices_of("categories");
    assert!(!offered.is_empty(), "nothing to consent to\n{}", page.seen());
    let mut fields = vec![("relation", relation), ("read", "yes"), ("password", PASSWORD)];
    fields.extend(offered.iter().map(|category| ("categories", category.as_str())));
    parent.presses_on(&page, "Sign", &fields).await.redirected_to();
}

/// The address of the row of a list that says this.
pub(super) fn address_of(page: &Page, words: &str) -> String {
    let links = page.links();
    let found = links.iter().find(|(_, text)| text.contains(words));
    found.map_or_else(|| panic!("no link with \"{words}\" among {links:?}"), |(href, _)| href.clone())
}

/// The choice of a field by the words beside it.
pub(super) fn choice_of(page: &Page, field: &str, words: &str) -> String {
    let all = page.choices_named(field);
    let found = all.iter().find(|(_, told)| told.contains(words));
    found.map_or_else(|| panic!("\"{field}\" offers no \"{words}\": {all:?}"), |(value, _)| value.clone())
}
