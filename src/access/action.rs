//! What somebody wants to do: six verbs, each also a type, so that a proof to
//! read cannot be handed to a function that writes.
//!
//! Does not know who may; that is [`crate::access::policy`].

use crate::care::codes::codes;

codes! {
    /// The verbs of the access table: C, R, U, A, S, X.
    pub enum Verb {
        Create = "create" : "add",
        Read = "read" : "read",
        Edit = "edit" : "change what is not signed",
        Amend = "amend" : "amend",
        Sign = "sign" : "sign, release or withdraw",
        Export = "export" : "print or export",
    }
}

mod sealed {
    pub trait Sealed {}
}

/// A verb as a type. Sealed: the six below are all there are.
pub trait Action: sealed::Sealed + 'static {
    /// The verb of the table.
    const VERB: Verb;
}

/// An action that implies reading the same thing.
///
/// All but [`Create`]: who may add an entry need not see what others entered.
/// That no cell grants such an action to somebody who may not read is a law of
/// the table, and tested.
#[diagnostic::on_unimplemented(
    message = "a proof to `{Self}` does not let anybody read",
    label = "this function reads: it needs Read, Edit, Amend, Sign or Export",
    note = "ask for `Access<_, Read>` in the handler's signature"
)]
pub trait Reads: Action {}

/// An action that changes the record.
#[diagnostic::on_unimplemented(
    message = "a proof to `{Self}` does not let anybody write",
    label = "this function writes: it needs Create, Edit, Amend or Sign",
    note = "ask for the proof of what the page does, say `Access<_, Edit>`"
)]
pub trait Writes: Action {}

macro_rules! actions {
    ($($(#[$doc:meta])* $name:ident: $($kind:ident),+;)+) => {$(
        $(#[$doc])*
        #[derive(Debug)]
        pub enum $name {}

        impl sealed::Sealed for $name {}

        impl Action for $name {
            const VERB: Verb = Verb::$name;
        }

        $(impl $kind for $name {})+
    )+};
}

actions! {
    /// C: add an entry of one's own.
    Create: Writes;
    /// R: read.
    Read: Reads;
    /// U: change what is not signed or locked.
    Edit: Reads, Writes;
    /// A: correct, so that what stood before stays visible.
    Amend: Reads, Writes;
    /// S: sign, release or withdraw.
    Sign: Reads, Writes;
    /// X: print or take away.
    Export: Reads;
}
