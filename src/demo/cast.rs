//! Who is in the demo: invented people, none of whom exists.

use std::collections::BTreeMap;

use anyhow::Context;
use jiff::tz::TimeZone;

use crate::access::{Actor, Role};
use crate::password::Passwords;
use crate::store::account::{self, NewAccount, create_by_operator};
use crate::store::{Audit, Store};

/// The district that owns the record.
pub(super) const DISTRICT: &str = "Brindle Flats School District";
/// The clinic.
pub(super) const CLINIC: &str = "Saltgrass Low Vision Clinic";

/// A person of the demo.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Who {
    Marisol,
    Dev,
    Lucille,
    Petra,
    Ambrose,
    Noor,
    Chiamaka,
    Rosalba,
    Thandeka,
    Hanae,
    Niamh,
    Benedita,
    Gideon,
    Thaddeus,
    Ines,
}

impl Who {
    const ALL: [Self; 15] = [
        Self::Marisol,
        Self::Dev,
        Self::Lucille,
        Self::Petra,
        Self::Ambrose,
        Self::Noor,
        Self::Chiamaka,
        Self::Rosalba,
        Self::Thandeka,
        Self::Hanae,
        Self::Niamh,
        Self::Benedita,
        Self::Gideon,
        Self::Thaddeus,
        Self::Ines,
    ];

    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Marisol => "Marisol Vantongeren",
            Self::Dev => "Dev Achterberg",
            Self::Lucille => "Lucille Osei",
            Self::Petra => "Petra Oyelaran-Smit",
            Self::Ambrose => "Ambrose Tetteh-Lindgren",
            Self::Noor => "Noor Halloran-Reyes",
            Self::Chiamaka => "Chiamaka Tamsin-Okafor",
            Self::Rosalba => "Rosalba Quintanar",
            Self::Thandeka => "Thandeka Adeyinka-Voss",
            Self::Hanae => "Hanae Farrow-Ito",
            Self::Niamh => "Niamh Lindqvist",
            Self::Benedita => "Benedita Oduya",
            Self::Gideon => "Gideon Farrow-Ito",
            Self::Thaddeus => "Thaddeus Mbeki-Lund",
            Self::Ines => "Ines Calloway-Brandt",
        }
    }

    /// What the person types to sign in: the first name in small letters.
    pub(super) fn sign_in(self) -> String {
        self.name().split(' ').next().unwrap_or_default().to_lowercase()
    }

    const fn role(self) -> Option<Role> {
        match self {
            Self::Marisol => Some(Role::VisionTeacher),
            Self::Dev | Self::Lucille | Self::Petra | Self::Ambrose => Some(Role::ClassroomTeacher),
            Self::Noor => Some(Role::Clinician),
            Self::Chiamaka
            | Self::Rosalba
            | Self::Thandeka
            | Self::Hanae
            | Self::Niamh
            | Self::Benedita
            | Self::Gideon => Some(Role::Parent),
            Self::Thaddeus | Self::Ines => None,
        }
    }

    fn account(self, password_hash: String) -> NewAccount {
        let clinician = self == Self::Noor;
        NewAccount {
            role: self.role(),
            // Two, so that nobody confirms what he proposed himself.
            steward: matches!(self, Self::Thaddeus | Self::Ines),
            // Street names and buses are hers to teach, too.
            mobility: self == Self::Marisol,
            name: self.name().to_owned(),
            sign_in: self.sign_in(),
            password_hash,
            clinic: clinician.then(|| CLINIC.to_owned()),
            credential: clinician.then(|| "OD".to_owned()),
            licence: clinician.then(|| "Invented licence 0417".to_owned()),
            language: "en".to_owned(),
        }
    }
}

/// The people with their accounts.
pub(super) struct Cast {
    actors: BTreeMap<Who, Actor>,
    zone: TimeZone,
}

impl Cast {
    /// Makes the accounts, with hashes that cost next to nothing.
    ///
    /// # Errors
    /// When the database or a hash fails.
    pub(super) async fn gather(store: &Store, passwords: &Passwords, password: &str) -> anyhow::Result<Self> {
        let hash = passwords.hash(password).await?;
        let mut actors = BTreeMap::new();
        let mut tx = store.tx().await?;
        for who in Who::ALL {
            let new = who.account(hash.clone());
            let account = create_by_operator(&mut tx, &new).await?;
            let (role, steward, mobility) = (new.role, new.steward, new.mobility);
            actors.insert(who, Actor { account, name: new.name, role, steward, mobility, clinic: new.clinic });
        }
        tx.commit(Audit::operator("make the demo's accounts")).await?;
        Ok(Self { actors, zone: store.clock().zone().clone() })
    }

    /// The account of a person.
    ///
    /// # Errors
    /// Never: everybody has one.
    pub(super) fn actor(&self, who: Who) -> anyhow::Result<&Actor> {
        self.actors.get(&who).with_context(|| format!("{} is in the cast", who.name()))
    }

    /// The installation's time zone.
    pub(super) fn zone(&self) -> &TimeZone {
        &self.zone
    }

    /// Gives everybody the password at its full cost, each with a salt of their own.
    ///
    /// # Errors
    /// When the database or a hash fails.
    pub(super) async fn lock(&self, store: &Store, passwords: &Passwords, password: &str) -> anyhow::Result<()> {
        let mut hashes = Vec::new();
        for actor in self.actors.values() {
            hashes.push((actor.account, passwords.hash(password).await?));
        }
        let mut tx = store.tx().await?;
        for (id, hash) in hashes {
            account::set_password_by_operator(&mut tx, id, hash).await?;
        }
        tx.commit(Audit::operator("set the demo's passwords")).await?;
        Ok(())
    }
}
