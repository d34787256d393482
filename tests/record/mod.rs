//! Opening a record, the intake, what the student must see, the team and the
//! two consents, as the people of a team use them.

mod consent;
mod intake;
mod people;
mod tasks;
