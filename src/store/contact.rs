//! How to reach the family: one row for each adult.
//!
//! A parent sees and changes the own row only, so that no guardian learns
//! another one's address here.

use sqlx::any::AnyRow;
use sqlx::query;

use super::audit::fresh;
use super::{Result, Snapshot, StoreError, Tx, met};
use crate::access::Access;
use crate::access::action::{Create, Edit, Reads};
use crate::access::resource::Contacts;
use crate::care::ids::{AccountId, ContactId};
use crate::db::column::{Columns, stamp, text};

/// How to reach one adult, as checked from a form.
#[derive(Clone, Default, PartialEq)]
pub struct NewContact {
    /// Name.
    pub name: String,
    /// How related to the student.
    pub relation: String,
    /// Telephone.
    pub phone: String,
    /// E-mail.
    pub email: String,
    /// The language to use.
    pub language: String,
    /// Large text, a screen reader, an interpreter.
    pub access_needs: String,
}

/// How to reach one adult.
#[derive(Clone)]
pub struct Contact {
    /// Which.
    pub id: ContactId,
    /// The adult's account on this team.
    pub account: Option<AccountId>,
    /// What is known.
    pub what: NewContact,
    /// For edits by two people.
    pub version: i64,
}

fn contact(row: &AnyRow) -> std::result::Result<Contact, sqlx::Error> {
    Ok(Contact {
        id: row.parsed("id")?,
        account: row.opt_parsed("account_id")?,
        what: NewContact {
            name: row.text("name")?,
            relation: row.text("relation")?,
            phone: row.text("phone")?,
            email: row.text("email")?,
            language: row.text("language")?,
            access_needs: row.text("access_needs")?,
        },
        version: row.whole("version")?,
    })
}

/// Every contact that this reader may see.
///
/// # Errors
/// When the database fails.
pub async fn list(snapshot: &mut Snapshot, access: &Access<Contacts, impl Reads>) -> Result<Vec<Contact>> {
    let own_only = i64::from(access.limits().own_only);
    let rows = query(
        "select id, account_id, name, relation, phone, email, language, access_needs, version from contact
         where student_id = $1 and ($2 = 0 or account_id = $3) order by created_at, id",
    )
    .bind(access.student().to_string())
    .bind(own_only)
    .bind(access.actor().account.to_string())
    .fetch_all(snapshot.connection())
    .await?;
    Ok(rows.iter().map(contact).collect::<std::result::Result<_, _>>()?)
}

/// One contact.
///
/// # Errors
/// [`StoreError::Missing`] when it is not one of this student's, or not for this reader.
pub async fn of(snapshot: &mut Snapshot, access: &Access<Contacts, impl Reads>, id: ContactId) -> Result<Contact> {
    let all = list(snapshot, access).await?;
    all.into_iter().find(|contact| contact.id == id).ok_or(StoreError::Missing)
}

/// Adds a contact; `account` is the adult's own account, when on this team as a
/// parent.
///
/// # Errors
/// [`StoreError::Missing`] when the account is no parent of this student.
pub async fn add(
    tx: &mut Tx,
    access: &Access<Contacts, Create>,
    new: &NewContact,
    account: Option<AccountId>,
) -> Result<ContactId> {
    if let Some(account) = account {
        let row = query("select count(*) as n from membership where student_id = $1 and account_id = $2 and role = 'parent' and ends_on is null")
            .bind(access.student().to_string())
            .bind(account.to_string())
            .fetch_one(tx.connection())
            .await?;
        if row.whole("n")? == 0 {
            return Err(StoreError::Missing);
        }
    }
    let id = fresh(ContactId::of);
    let at = stamp(tx.now());
    query(
        "insert into contact (id, student_id, account_id, name, relation, phone, email, language, access_needs, created_at, created_by)
         values ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11)",
    )
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(text(account))
    .bind(new.name.clone())
    .bind(new.relation.clone())
    .bind(new.phone.clone())
    .bind(new.email.clone())
    .bind(new.language.clone())
    .bind(new.access_needs.clone())
    .bind(at)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    Ok(id)
}

/// Changes a contact.
///
/// # Errors
/// [`StoreError::Stale`] when somebody saved meanwhile or it is not the actor's to change.
pub async fn change(
    tx: &mut Tx,
    access: &Access<Contacts, Edit>,
    id: ContactId,
    new: &NewContact,
    version: i64,
) -> Result<()> {
    let own_only = i64::from(access.limits().own_only);
    let done = query(
        "update contact set name = $1, relation = $2, phone = $3, email = $4, language = $5, access_needs = $6, version = version + 1
         where id = $7 and student_id = $8 and version = $9 and ($10 = 0 or account_id = $11)",
    )
    .bind(new.name.clone())
    .bind(new.relation.clone())
    .bind(new.phone.clone())
    .bind(new.email.clone())
    .bind(new.language.clone())
    .bind(new.access_needs.clone())
    .bind(id.to_string())
    .bind(access.student().to_string())
    .bind(version)
    .bind(own_only)
    .bind(access.actor().account.to_string())
    .execute(tx.connection())
    .await?;
    met(done.rows_affected())
}
