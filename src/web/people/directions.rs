//! Where the two consents stand, one notice for each, and who is waited for.
//!
//! Does not know how one is signed or withdrawn; that is [`crate::web::consents`].

use jiff::Timestamp;
use jiff::civil::Date;

use super::{Team, with_relation};
use crate::access::action::{Reads, Sign};
use crate::access::resource::Consents;
use crate::access::{Access, Role};
use crate::care::consent::{Direction, Party};
use crate::care::student::Coming;
use crate::store::consent;
use crate::store::setting::Site;
use crate::web::error::Result;
use crate::web::state::App;
use crate::web::visit::Visit;
use crate::web::words;

/// Where one direction of consent stands, as a notice.
#[derive(Clone)]
pub(in crate::web) struct DirectionLine {
    pub(in crate::web) kind: &'static str,
    pub(in crate::web) title: String,
    pub(in crate::web) body: String,
    /// Where this reader signs it.
    pub(in crate::web) sign: Option<(String, String)>,
}

/// Where both directions stand.
pub(in crate::web) struct Directions {
    pub(super) listed: Vec<consent::Listed>,
    clinics: Vec<String>,
    owner: String,
    waited_for: Vec<String>,
    today: Date,
}

impl Directions {
    pub(in crate::web) async fn of(
        app: &App,
        access: &Access<Consents, impl Reads>,
        team: &Team,
        site: &Site,
    ) -> Result<Self> {
        let mut snapshot = app.store.snapshot().await?;
        Ok(Self {
            listed: consent::list(&mut snapshot, access).await?,
            clinics: team.clinics(),
            owner: site.owner().to_owned(),
            waited_for: team.rights_holders(),
            today: snapshot.today(),
        })
    }

    /// One notice for each consent in force, or for a direction without one.
    pub(in crate::web) fn lines(&self, visit: &Visit) -> Vec<DirectionLine> {
        Direction::ALL.iter().flat_map(|way| self.of_direction(*way, visit)).collect()
    }

    /// Whether a consent is in force each way.
    pub(in crate::web) fn both_in_force(&self) -> bool {
        Direction::ALL.iter().all(|way| self.listed.iter().any(|listed| listed.consent.counts(self.today, *way)))
    }

    /// Who is waited for to sign, in a sentence.
    pub(in crate::web) fn waiting(&self) -> String {
        if self.waited_for.is_empty() {
            "No parent or guardian with full rights has joined the team yet. Invite one first.".to_owned()
        } else {
            format!("Waiting for {}.", self.waited_for.join(" or "))
        }
    }

    fn of_direction(&self, way: Direction, visit: &Visit) -> Vec<DirectionLine> {
        let words = words::capital(way.words());
        let may_sign = signs_on_screen(visit);
        let sign =
            may_sign.then(|| (visit.at(&format!("/people/consent/{}", way.code())), format!("Sign: {}", way.words())));
        let in_force: Vec<&consent::Listed> =
            self.listed.iter().filter(|listed| listed.consent.counts(self.today, way)).collect();
        if in_force.is_empty() {
            let body = if matches!(visit.coming_of_age(), Coming::Since(_)) {
                // G10: from that day on the student signs.
                "Waiting for the student, who is of age and signs in person or on paper with the vision teacher."
                    .to_owned()
            } else if may_sign {
                "Nothing goes this way until you or another parent or guardian with full rights signs.".to_owned()
            } else {
                self.waiting()
            };
            return vec![DirectionLine { kind: "caution", title: format!("{words}: no consent"), body, sign }];
        }
        in_force
            .into_iter()
            .map(|listed| {
                let consent = &listed.consent;
                let covers: Vec<&str> = consent.categories.iter().map(|one| one.words()).collect();
                let end = consent.end.map_or(String::new(), |end| format!(" until {}", words::date(end)));
                let mut body = format!(
                    "From {} to {}. Covers: {}. Signed by {} on {}.",
                    consent.from.name(),
                    consent.to.name(),
                    covers.join("; "),
                    with_relation(&consent.signer, &listed.relation),
                    words::date(self.day(listed.signed_at, visit)),
                );
                let named = self.reaches(way, &consent.to);
                if !named {
                    body.push_str(&format!(
                        " Nobody of {} is on this team, so nothing reaches anyone yet.",
                        consent.to.name()
                    ));
                }
                DirectionLine {
                    kind: if named { "good" } else { "caution" },
                    title: format!("{words}: in force{end}"),
                    body,
                    sign: sign.clone().map(|(to, _)| (to, "Sign another one".to_owned())),
                }
            })
            .collect()
    }

    fn reaches(&self, way: Direction, to: &Party) -> bool {
        let same = |name: &String| Party::new(name).is_ok_and(|party| party == *to);
        match way {
            Direction::SchoolToClinic => self.clinics.iter().any(same),
            Direction::ClinicToSchool => same(&self.owner),
        }
    }

    fn day(&self, at: Timestamp, visit: &Visit) -> Date {
        visit.store().clock().date_of(at)
    }
}

/// Whether this person signs consents on screen: a rights holder, not one who
/// witnesses a paper.
pub(in crate::web) fn signs_on_screen(visit: &Visit) -> bool {
    visit.role() == Some(Role::Parent) && visit.may::<Consents, Sign>()
}
