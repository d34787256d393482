//! What people write to each other in the thread.
//!
//! A note speaks to everybody who may read it; a question is addressed to a role
//! and stays open until somebody of that role answers, or until its asker no
//! longer needs an answer. Does not know who may read a post; that is in
//! `access`.

use super::codes::codes;

codes! {
    /// A kind of post.
    pub enum PostKind {
        Note = "note" : "note",
        Question = "question" : "question",
        Answer = "answer" : "answer",
    }

    /// Why a question is closed without an answer.
    pub enum CloseReason {
        NoLongerNeeded = "no_longer_needed" : "no longer needed",
        AnsweredElsewhere = "answered_elsewhere" : "answered in another way",
        WrongRole = "wrong_role" : "it was for somebody else",
        Other = "other" : "another reason",
    }

    /// What an asker did with a question besides asking it.
    pub enum QuestionStep {
        Closed = "closed" : "closed without an answer",
        Reopened = "reopened" : "asked again",
    }
}
