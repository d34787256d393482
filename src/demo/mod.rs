//! The demo: invented people in Brindle Flats, at different stages.
//!
//! Filled through the same store functions as real entries, under proofs of the
//! persons who would have made them. Dates are offsets from today.

use crate::access::Role;
use crate::store::account::{NewAccount, create_by_operator};
use crate::store::{Audit, setting};
use crate::web::state::App;

/// Every invented person's password.
pub const PASSWORD: &str = "brindle flats demo";

/// The lines that a demo prints at its start: one sign-in per role.
pub fn sign_ins() -> String {
    let mut lines = vec!["Demo. Invented people. Everybody's password: ".to_owned() + PASSWORD];
    for (role, sign_in) in [
        ("vision teacher", "marisol"),
        ("classroom teacher", "dev"),
        ("parent", "chiamaka"),
        ("clinician", "noor"),
        ("records officer", "thaddeus"),
    ] {
        lines.push(format!("  {role:<18} {sign_in}"));
    }
    lines.join("\n")
}

/// Fills an empty database; one that holds people is left as it is.
///
/// # Errors
/// When the database fails.
pub async fn fill(app: &App) -> anyhow::Result<()> {
    let mut snapshot = app.store.snapshot().await?;
    if setting::site(&mut snapshot).await?.demo() {
        return Ok(());
    }
    drop(snapshot);
    let hash = app.passwords.hash(PASSWORD).await?;
    let mut tx = app.store.tx().await?;
    setting::put_by_operator(&mut tx, "demo", "yes").await?;
    setting::put_by_operator(&mut tx, "owner", "Brindle Flats School District").await?;
    setting::put_by_operator(&mut tx, "help", "Thaddeus Mbeki-Lund, district office").await?;
    let person = |name: &str, sign_in: &str, role: Option<Role>, steward: bool| NewAccount {
        role,
        steward,
        mobility: false,
        name: name.to_owned(),
        sign_in: sign_in.to_owned(),
        password_hash: hash.clone(),
        clinic: None,
        credential: None,
        licence: None,
        language: "en".to_owned(),
    };
    create_by_operator(&mut tx, &person("Marisol Vantongeren", "marisol", Some(Role::VisionTeacher), false)).await?;
    create_by_operator(&mut tx, &person("Dev Achterberg", "dev", Some(Role::ClassroomTeacher), false)).await?;
    create_by_operator(&mut tx, &person("Chiamaka Tamsin-Okafor", "chiamaka", Some(Role::Parent), false)).await?;
    create_by_operator(
        &mut tx,
        &NewAccount {
            clinic: Some("Saltgrass Low Vision Clinic".to_owned()),
            credential: Some("OD".to_owned()),
            licence: Some("Invented licence 0417".to_owned()),
            ..person("Noor Halloran-Reyes", "noor", Some(Role::Clinician), false)
        },
    )
    .await?;
    create_by_operator(&mut tx, &person("Thaddeus Mbeki-Lund", "thaddeus", None, true)).await?;
    tx.commit(Audit::operator("fill the demo")).await?;
    Ok(())
}
