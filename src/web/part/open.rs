//! What stands around the fields of a form?
//!
//! The opening tag with the hidden keys, the list of what is to be mended, the
//! buttons, and the closing tag. Every form that writes carries the csrf key
//! and the submission key; one that edits carries the version it was read at.
//! Nothing here checks those keys: the reading side does.
//! Read next: [`super::field`].

use askama::Template;
use askama::filters::HtmlSafe;

use super::id_of;
use crate::web::form::FormView;

/// The opening tag of a form and its hidden keys.
#[derive(Debug, Clone, Template)]
#[template(path = "part/open.html")]
pub struct Open {
    action: String,
    get: bool,
    upload: bool,
    inline: bool,
    guard: bool,
    csrf: String,
    key: String,
    version: Option<i64>,
}

impl HtmlSafe for Open {}

impl Open {
    /// A form that only asks, such as a filter: no hidden keys.
    pub fn get(mut self) -> Self {
        self.get = true;
        self
    }

    /// A form with a file in it.
    pub fn upload(mut self) -> Self {
        self.upload = true;
        self
    }

    /// A form of one or two controls on one line.
    pub fn inline(mut self) -> Self {
        self.inline = true;
        self
    }

    /// Warns before leaving with unsaved words, where scripts run.
    pub fn guard(mut self) -> Self {
        self.guard = true;
        self
    }
}

/// The closing tag of a form.
#[derive(Debug, Clone, Copy, Template)]
#[template(source = "</form>", ext = "html")]
pub struct Close;

impl HtmlSafe for Close {}

/// A value that travels unseen.
#[derive(Debug, Clone, Template)]
#[template(source = r#"<input type="hidden" name="{{ name }}" value="{{ value }}">"#, ext = "html")]
pub struct Hidden {
    name: String,
    value: String,
}

impl HtmlSafe for Hidden {}

/// What is to be mended, at the top of the page, each with a link to its
/// field. Empty when nothing is.
#[derive(Debug, Clone, Template)]
#[template(path = "part/summary.html")]
pub struct Summary {
    faults: Vec<(String, String)>,
}

impl HtmlSafe for Summary {}

/// A button that sends the form.
#[derive(Debug, Clone, Template)]
#[template(path = "part/button.html")]
pub struct Button {
    words: String,
    kind: &'static str,
    named: Option<(String, String)>,
    action: Option<String>,
}

impl HtmlSafe for Button {}

impl Button {
    /// For the second-best way on: an outline.
    pub fn quiet(mut self) -> Self {
        self.kind = "quiet";
        self
    }

    /// For what ends or withdraws something.
    pub fn grave(mut self) -> Self {
        self.kind = "grave";
        self
    }

    /// Says which button was pressed.
    pub fn named(mut self, name: &str, value: &str) -> Self {
        self.named = Some((name.to_owned(), value.to_owned()));
        self
    }

    /// Sends the form to another address.
    pub fn to(mut self, action: &str) -> Self {
        self.action = Some(action.to_owned());
        self
    }
}

impl FormView {
    /// Opens the form; `POST` unless `.get()` is added.
    ///
    /// Several forms of one page may be opened from one view: the key differs
    /// by address, so that sending one of them is no repeat of another.
    pub fn open(&self, action: &str) -> Open {
        let of_action = action.bytes().fold(5381_u32, |sum, byte| sum.wrapping_mul(33) ^ u32::from(byte));
        Open {
            action: action.to_owned(),
            get: false,
            upload: false,
            inline: false,
            guard: false,
            csrf: self.csrf.clone(),
            key: format!("{}-{of_action:08x}", self.key),
            version: self.version,
        }
    }

    /// Closes the form.
    pub fn close(&self) -> Close {
        Close
    }

    /// The list of what is to be mended; stands first in `main`.
    pub fn errors(&self) -> Summary {
        Summary {
            faults: self
                .faults
                .iter()
                .map(|(name, words)| {
                    let id = if name.is_empty() { String::new() } else { id_of(name) };
                    (id, words.to_owned())
                })
                .collect(),
        }
    }

    /// A button that sends the form.
    pub fn submit(&self, words: &str) -> Button {
        Button { words: words.to_owned(), kind: "", named: None, action: None }
    }

    /// A value that travels unseen.
    pub fn hidden(&self, name: &str, value: &str) -> Hidden {
        Hidden { name: name.to_owned(), value: value.to_owned() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::web::form::{Entry, Faults};

    fn form() -> FormView {
        FormView {
            entry: Entry::default(),
            faults: Faults::default(),
            csrf: "c\"1".to_owned(),
            key: "k2".to_owned(),
            version: Some(3),
            prefix: String::new(),
        }
    }

    #[test]
    fn a_form_that_writes_carries_its_keys_and_one_that_asks_does_not() {
        let page = form().open("/loans").to_string();
        assert!(page.contains("method=\"post\" action=\"/loans\""), "{page}");
        assert!(page.contains("name=\"csrf\" value=\"c&#34;1\""), "{page}");
        assert!(page.contains("name=\"key\" value=\"k2-"), "{page}");
        assert!(page.contains("name=\"version\" value=\"3\""), "{page}");
        let page = form().open("/loans").get().to_string();
        assert!(page.contains("method=\"get\""), "{page}");
        assert!(!page.contains("hidden"), "{page}");
    }

    #[test]
    fn nothing_to_mend_shows_nothing() {
        assert_eq!(form().errors().to_string().trim(), "");
        let mut form = form();
        form.faults.add("", "Somebody else changed <this>.");
        let page = form.errors().to_string();
        assert!(page.contains("<li>Somebody else changed &#60;this&#62;.</li>"), "{page}");
        assert!(page.contains("role=\"alert\" tabindex=\"-1\" autofocus"), "{page}");
    }
}
