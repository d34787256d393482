//! Paper that comes into the record: files that hang on something, and reports
//! that a vision teacher transcribes and a clinician confirms.

mod confirming;
mod disk;
mod download;
pub(crate) mod files;
mod filing;
mod kinds;
pub(crate) mod story;
mod upload;

use farpoint::access::Access;
use farpoint::access::action::Create;
use farpoint::access::resource::Consents;
use farpoint::access::standing::Password;
use farpoint::care::attachment::check;
use farpoint::care::ids::AttachmentId;
use farpoint::store::attachment::{self, Parent};
use farpoint::store::{Audit, standing};

use crate::people::Person;
use crate::world::{Pupil, World};

impl World {
    /// Setup: the scan of the newest consent of a student.
    pub(crate) async fn attaches_scan_of_consent(&self, person: &Person, pupil: &Pupil) -> AttachmentId {
        let consent = self.newest("consent", pupil).await.expect("a consent").parse().expect("an id");
        let checked = check(files::pdf(), "consent.pdf").expect("a PDF");
        let laid = self.store().files().lay(checked).await.expect("room for a file");
        let mut tx = self.store().tx().await.expect("a transaction");
        let standing = standing::of(&mut tx, person.actor(), pupil.id, Password::NotEntered).await.expect("a standing");
        let access: Access<Consents, Create> =
            Access::grant(person.actor(), pupil.id, &standing).expect("this person may");
        let id = attachment::keep(&mut tx, &access, Parent::Consent(consent), laid).await.expect("it is kept");
        tx.commit(Audit::by(&access).record(id)).await.expect("it lasts");
        id
    }
}
