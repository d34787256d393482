//! What people write to each other in the thread.
//!
//! A note speaks to everybody who may read it; a question is addressed to a role
//! and stays open until somebody of that role answers. Does not know who may
//! read a post; that is in `access`.

use super::codes::codes;

codes! {
    /// A kind of post.
    pub enum PostKind {
        Note = "note" : "note",
        Question = "question" : "question",
        Answer = "answer" : "answer",
    }
}
