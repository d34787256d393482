//! Consents given on paper or in person: somebody else signed, a vision teacher
//! records it, and a scan or a witness stands for the signature.
//!
//! A scan is kept in the same transaction: there is no paper consent without one.

use jiff::civil::Date;
use sqlx::query;

use super::{NewConsent, may_name};
use crate::access::Access;
use crate::access::action::Sign;
use crate::access::resource::Consents;
use crate::care::consent::{Given, SignerKind};
use crate::care::ids::{AccountId, ConsentId};
use crate::db::column::{Columns, json, stamp};
use crate::store::account::Reentered;
use crate::store::attachment::{self, Parent};
use crate::store::audit::fresh;
use crate::store::files::Laid;
use crate::store::{Result, StoreError, Tx, sending};

/// Who signed.
pub struct Signer {
    /// Name.
    pub name: String,
    /// How related to the student.
    pub relation: String,
    /// Whose right it is.
    pub kind: SignerKind,
    /// The signer's own account on this team, where there is one.
    pub account: Option<AccountId>,
}

/// What stands for the signature.
pub enum Evidence {
    /// Given in person: who was there.
    Witness(String),
    /// Given on paper: its scan.
    Scan(Laid),
}

/// A consent that somebody else gave.
pub struct Recorded {
    /// What was agreed; the relation in it is the signer's.
    pub terms: NewConsent,
    /// Who signed.
    pub signer: Signer,
    /// The day it was signed.
    pub signed_on: Date,
    /// What stands for the signature.
    pub evidence: Evidence,
}

/// Records it, the recorder's password entered again, and sends what it covers.
///
/// # Errors
/// [`StoreError::Missing`] when the actor signs for himself on screen instead,
/// when the password is another person's, when a kind of record does not go
/// that way, or when the signer's account is not a parent's with full rights.
pub async fn record(
    tx: &mut Tx,
    access: &Access<Consents, Sign>,
    reentered: &Reentered,
    new: Recorded,
) -> Result<ConsentId> {
    let own = reentered.account() == access.actor().account;
    if !own || !access.limits().witnessed || !may_name(access, &new.terms) {
        return Err(StoreError::Missing);
    }
    tx.take_turn().await?;
    if let Some(account) = new.signer.account
        && !holds_rights(tx, access, account).await?
    {
        return Err(StoreError::Missing);
    }
    let (given, witness, scan) = match new.evidence {
        Evidence::Witness(name) => (Given::InPerson, name, None),
        Evidence::Scan(laid) => (Given::Paper, String::new(), Some(laid)),
    };
    let id = fresh(ConsentId::of);
    let at = stamp(tx.now());
    query(
        "insert into consent (id, student_id, direction, categories, purpose, from_party, to_party, starts_on, ends_on,
         signer_account, signer_name, signer_relation, signer_kind, signed_on, how, language, witness, signed_at, entered_by)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18, $19)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(new.terms.direction.code().to_owned())
    .bind(json(&new.terms.categories))
    .bind(new.terms.purpose.clone())
    .bind(new.terms.from.name().to_owned())
    .bind(new.terms.to.name().to_owned())
    .bind(new.terms.start.to_string())
    .bind(new.terms.end.to_string())
    .bind(new.signer.account.map(|account| account.to_string()))
    .bind(new.signer.name.clone())
    .bind(new.signer.relation.clone())
    .bind(new.signer.kind.code().to_owned())
    .bind(new.signed_on.to_string())
    .bind(given.code().to_owned())
    .bind(new.terms.language.clone())
    .bind(witness)
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    if let Some(laid) = scan {
        attachment::keep(tx, access, Parent::Consent(id), laid).await?;
    }
    sending::of_started_consents(tx, access.student()).await?;
    Ok(id)
}

/// Whether an account is a parent's with full rights on this team now.
async fn holds_rights(tx: &mut Tx, access: &Access<Consents, Sign>, account: AccountId) -> Result<bool> {
    let today = tx.today().to_string();
    let row = query(
        "select count(*) as held from membership
         where student_id = $1 and account_id = $2 and role = 'parent' and rights = 'full'
           and starts_on <= $3 and (ends_on is null or ends_on > $3)",
    )
    .bind(access.student().to_string())
    .bind(account.to_string())
    .bind(today)
    .fetch_one(tx.connection())
    .await?;
    Ok(row.whole("held")? > 0)
}

/// Who withdrew a consent in person, and who was there.
pub struct Told {
    /// Name and relation.
    pub by: String,
    /// Who was there.
    pub witness: String,
}

/// Records that a rights holder withdrew a consent in person: from now on
/// nothing new crosses.
///
/// # Errors
/// [`StoreError::Missing`] when it is not a consent of this student that was not
/// withdrawn, or as [`record`].
pub async fn withdraw(
    tx: &mut Tx,
    access: &Access<Consents, Sign>,
    reentered: &Reentered,
    id: ConsentId,
    told: &Told,
) -> Result<()> {
    if reentered.account() != access.actor().account || !access.limits().witnessed {
        return Err(StoreError::Missing);
    }
    tx.take_turn().await?;
    let at = stamp(tx.now());
    let done = query(
        "update consent set withdrawn_at = $1, withdrawn_by = $2, withdrawn_how = 'in_person', withdrawn_name = $3, withdrawn_witness = $4
         where id = $5 and student_id = $6 and how <> 'emergency' and withdrawn_at is null",
    )
    .bind(at)
    .bind(access.actor().account.to_string())
    .bind(told.by.clone())
    .bind(told.witness.clone())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .execute(tx.connection())
    .await?;
    if done.rows_affected() == 1 { Ok(()) } else { Err(StoreError::Missing) }
}
