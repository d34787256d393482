//! Opening a record and gathering a team around it, page by page, as the people
//! themselves do it.

use farpoint::access::Role;
use farpoint::care::consent::{Category, Direction};
use jiff::ToSpan;

use super::{Pupil, World};
use crate::people::{CLINIC, PASSWORD, Person};

impl World {
    /// A record opened and led by this vision teacher.
    pub(crate) async fn student_of(&self, teacher: &Person) -> Pupil {
        let name = "Wren Ashdown-Lal";
        let number = format!("S-{:04}", self.next());
        let born = self.day(-11 * 365);
        let fields = [
            ("name", name),
            ("number", &number),
            ("birth_date", &born),
            ("school", "Kestrel Ridge Middle School"),
            ("grade", "6"),
            ("languages", "English"),
            ("interpreter", "no"),
            ("print_format", "print 18 pt"),
        ];
        let to = teacher.presses("/students/new", "Open the record", &fields).await.redirected_to();
        let id = to.split('/').nth(2).and_then(|id| id.parse().ok());
        Pupil { id: id.unwrap_or_else(|| panic!("{to} names no student")), name: name.to_owned() }
    }

    /// The address of a link by which somebody may join this team.
    pub(crate) async fn link(&self, teacher: &Person, pupil: &Pupil, role: Role) -> String {
        let relation = if role == Role::Parent { "mother" } else { "" };
        let fields = [("role", role.code()), ("invited_name", "whoever holds it"), ("relation", relation)];
        let page = teacher.presses(&pupil.at("/people"), "Make the link", &fields).await.ok();
        // It is text to be copied, not a link of the page.
        let seen = page.seen();
        let from = seen.find("/invite/").unwrap_or_else(|| panic!("no link in {seen}"));
        seen[from..].split_whitespace().next().unwrap_or_default().to_owned()
    }

    /// A person who has an account joins a team by a link.
    pub(crate) async fn joins(&self, person: &Person, pupil: &Pupil, invited_by: &Person) {
        let role = person.actor().role.expect("a steward joins no team");
        let link = self.link(invited_by, pupil, role).await;
        person.presses(&link, "Join this team", &[]).await.redirected_to();
    }

    /// A parent signs both consents, for everything they can name.
    pub(crate) async fn consents(&self, parent: &Person, pupil: &Pupil) {
        for direction in [Direction::SchoolToClinic, Direction::ClinicToSchool] {
            let path = pupil.at(&format!("/people/consent/{}", direction.code()));
            let mut fields = vec![("clinic", CLINIC), ("relation", "mother"), ("read", "yes"), ("password", PASSWORD)];
            fields.extend(direction.categories().map(|category| ("categories", category.code())));
            parent.presses(&path, "Sign", &fields).await.redirected_to();
        }
    }

    /// A parent withdraws every consent in force.
    pub(crate) async fn withdraws(&self, parent: &Person, pupil: &Pupil) {
        let page = parent.opens(&pupil.at("/people")).await.ok();
        let consents: Vec<String> =
            page.links().into_iter().map(|(href, _)| href).filter(|href| href.contains("/people/consents/")).collect();
        assert!(!consents.is_empty(), "no consents\n{}", page.seen());
        for consent in consents {
            parent.presses(&consent, "Withdraw this consent", &[("password", PASSWORD)]).await.redirected_to();
        }
    }

    /// A membership ends today.
    pub(crate) async fn leaves(&self, person: &Person, pupil: &Pupil, ended_by: &Person) {
        let page = ended_by.opens(&pupil.at("/people")).await.ok();
        let (membership, of) = (self.member(person, pupil).await, pupil.at("/people/members"));
        let action = format!("{of}/{membership}/end");
        assert!(page.source().contains(&action), "{} cannot be ended", person.name);
        ended_by.submits(&action, &[]).await.redirected_to();
    }

    async fn member(&self, person: &Person, pupil: &Pupil) -> String {
        let mut view = self.store().db().begin_read().await.expect("a view");
        sqlx::query_scalar("select id from membership where account_id = $1 and student_id = $2 and ends_on is null")
            .bind(person.actor().account.to_string())
            .bind(pupil.id.to_string())
            .fetch_one(&mut *view)
            .await
            .expect("on the team")
    }

    /// A court order leaves a parent no more than contact: one records officer
    /// puts it down, another confirms it.
    pub(crate) async fn limits(&self, parent: &Person, pupil: &Pupil) {
        let (first, second) = (self.steward().await, self.steward().await);
        first.enters_password_again().await;
        second.enters_password_again().await;
        let (adult, today) = (parent.actor().account.to_string(), self.day(0));
        let fields = [
            ("account", adult.as_str()),
            ("rights", "contact_only"),
            ("document", "Order 41 of the county court, in the office safe"),
            ("starts_on", &today),
        ];
        let path = pupil.at("/people/limits");
        first.presses(&path, "Propose this limit", &fields).await.redirected_to();
        second.presses(&path, "Confirm this limit", &[]).await.redirected_to();
    }

    /// The student turns this many years old today.
    pub(crate) async fn turns(&self, years: i16, pupil: &Pupil, teacher: &Person) {
        let born = self.today().checked_sub(years.years()).expect("a birthday").to_string();
        self.was_born(&born, pupil, teacher).await;
    }

    /// The vision teacher corrects the date of birth.
    pub(crate) async fn was_born(&self, born: &str, pupil: &Pupil, teacher: &Person) {
        teacher.presses(&pupil.at("/identity"), "Save", &[("birth_date", born)]).await.redirected_to();
    }

    /// A student of age says what a parent may read, and a records officer
    /// writes it down.
    pub(crate) async fn lets(&self, steward: &Person, parent: &Person, pupil: &Pupil, categories: &[Category]) {
        let (adult, today) = (parent.actor().account.to_string(), self.day(0));
        let mut fields = vec![
            ("account", adult.as_str()),
            ("lets", if categories.is_empty() { "nothing" } else { "these" }),
            ("words", "I told her what she may read."),
            ("how", "said"),
            ("decided_on", &today),
            ("witness", "Marlow Pike, counsellor"),
        ];
        fields.extend(categories.iter().map(|category| ("categories", category.code())));
        steward.presses(&pupil.at("/people/age"), "Record the choice", &fields).await.redirected_to();
    }
}
