//! How is one thing typed?
//!
//! A [`Field`] is a label above, a hint, what is wrong in the same words as at
//! the top of the page, and the control with what was typed still in it.
//! It checks nothing: every check is made on the server by the form that owns
//! the field. Numbers are text fields, because a scroll wheel changes a number
//! field and a wrong number in it is silently lost.
//! Read next: [`super::choice`] for what is chosen rather than typed.

use askama::Template;
use askama::filters::HtmlSafe;

use super::{id_of, pairs};
use crate::web::form::FormView;

/// What a field is typed into.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Control {
    /// An `input` of this type.
    Input(&'static str),
    Area,
    Select,
}

/// One labelled control.
#[derive(Debug, Clone, Template)]
#[template(path = "part/field.html")]
pub struct Field {
    name: String,
    id: String,
    label: String,
    value: String,
    hint: Option<String>,
    fault: Option<String>,
    unit: Option<String>,
    optional: bool,
    control: Control,
    keypad: Option<&'static str>,
    width: &'static str,
    rows: u16,
    autocomplete: String,
    step: Option<u32>,
    seconds: bool,
    accept: Option<String>,
    options: Vec<(String, String)>,
    blank: Option<String>,
}

impl HtmlSafe for Field {}

impl Field {
    fn new(form: &FormView, name: &str, label: &str, control: Control) -> Self {
        Self {
            name: form.named(name),
            id: id_of(&form.named(name)),
            label: label.to_owned(),
            value: form.entry.get(name).to_owned(),
            hint: None,
            fault: form.faults.of(name).map(str::to_owned),
            unit: None,
            optional: false,
            control,
            keypad: None,
            width: "",
            rows: 4,
            // School computers are shared: a browser must not offer one
            // family's words to the next person.
            autocomplete: "off".to_owned(),
            step: None,
            seconds: false,
            accept: None,
            options: Vec::new(),
            blank: None,
        }
    }

    /// One short sentence between the label and the control.
    pub fn hint(mut self, hint: &str) -> Self {
        self.hint = Some(hint.to_owned()).filter(|hint| !hint.is_empty());
        self
    }

    /// Says "(optional)" after the label.
    pub fn optional(mut self) -> Self {
        self.optional = true;
        self
    }

    /// As wide as the column.
    pub fn wide(mut self) -> Self {
        self.width = "wide";
        self
    }

    /// Wide enough for a few digits and a unit.
    pub fn narrow(mut self) -> Self {
        self.width = "narrow";
        self
    }

    /// Lines shown of a multi-line field.
    pub fn rows(mut self, rows: u16) -> Self {
        self.rows = rows;
        self
    }

    /// The `autocomplete` token, such as `username` or `one-time-code`.
    pub fn autocomplete(mut self, token: &str) -> Self {
        self.autocomplete = token.to_owned();
        self
    }

    /// A unit shown after the control. The label names it as well.
    pub fn unit(mut self, unit: &str) -> Self {
        self.unit = Some(unit.to_owned());
        self
    }

    /// Offers minus and plus buttons of one, where scripts run.
    pub fn stepper(self) -> Self {
        self.steps_of(1)
    }

    /// Offers minus and plus buttons of `size`, where scripts run.
    pub fn steps_of(mut self, size: u32) -> Self {
        self.step = Some(size);
        self
    }

    /// Offers a start and stop button that counts seconds into the field,
    /// where scripts run.
    pub fn timer(mut self) -> Self {
        self.seconds = true;
        self
    }

    /// The kinds of file offered first, such as `application/pdf,image/*`.
    pub fn accept(mut self, kinds: &str) -> Self {
        self.accept = Some(kinds.to_owned());
        self
    }

    /// The words of the empty first choice of a select.
    pub fn blank(mut self, words: &str) -> Self {
        self.blank = Some(words.to_owned());
        self
    }

    /// Another id than the one made of the name, where two forms on one page
    /// share a name. The list of faults leads to the id made of the name.
    pub fn id(mut self, id: &str) -> Self {
        self.id = id.to_owned();
        self
    }

    /// The ids of everything that describes the control, in reading order.
    fn described(&self) -> String {
        let mut ids = Vec::new();
        if self.hint.is_some() {
            ids.push(format!("{}-hint", self.id));
        }
        if self.fault.is_some() {
            ids.push(format!("{}-fault", self.id));
        }
        if self.unit.is_some() {
            ids.push(format!("{}-unit", self.id));
        }
        ids.join(" ")
    }

    /// The input type; `None` for the two controls that are not inputs.
    fn input(&self) -> Option<&'static str> {
        match self.control {
            // A date field drops what it cannot read. What was typed is kept,
            // so anything but a whole ISO date comes back as text.
            Control::Input("date") if !self.value.is_empty() && !is_iso_date(&self.value) => Some("text"),
            Control::Input(kind) => Some(kind),
            Control::Area | Control::Select => None,
        }
    }

    /// A password or a file is never sent back to the page.
    fn shown_value(&self) -> &str {
        match self.control {
            Control::Input("password" | "file") => "",
            _ => &self.value,
        }
    }

    fn is_file(&self) -> bool {
        self.control == Control::Input("file")
    }

    fn is_area(&self) -> bool {
        self.control == Control::Area
    }

    /// The empty choice of a select: the one asked for, or a plain one when
    /// nothing is chosen yet, so that the first choice is never taken by
    /// mistake.
    fn empty_choice(&self) -> Option<&str> {
        let offered = self.options.iter().any(|(value, _)| value.is_empty());
        let chosen = self.options.iter().any(|(value, _)| *value == self.value);
        match &self.blank {
            Some(words) => Some(words),
            None if offered || chosen => None,
            None => Some("Choose one"),
        }
    }
}

/// Whether a date field can show this: a real day, written `YYYY-MM-DD`.
fn is_iso_date(value: &str) -> bool {
    value.len() == 10 && jiff::civil::Date::strptime("%Y-%m-%d", value).is_ok()
}

impl FormView {
    /// One line of text.
    pub fn text(&self, name: &str, label: &str) -> Field {
        Field::new(self, name, label, Control::Input("text"))
    }

    /// Several lines of text.
    pub fn area(&self, name: &str, label: &str) -> Field {
        Field::new(self, name, label, Control::Area).wide()
    }

    /// A password; what was typed is never shown again. For the person's own
    /// password on this site unless another token is given.
    pub fn password(&self, name: &str, label: &str) -> Field {
        Field::new(self, name, label, Control::Input("password")).autocomplete("current-password")
    }

    /// A day. The browser's own date field; a date typed as `2026-02-03` is
    /// read where the browser has none.
    pub fn date(&self, name: &str, label: &str) -> Field {
        Field::new(self, name, label, Control::Input("date"))
    }

    /// A time of day.
    pub fn time(&self, name: &str, label: &str) -> Field {
        Field::new(self, name, label, Control::Input("time"))
    }

    /// A whole number, with the number keypad.
    pub fn whole(&self, name: &str, label: &str) -> Field {
        let mut field = Field::new(self, name, label, Control::Input("text")).narrow();
        field.keypad = Some("numeric");
        field
    }

    /// A number with decimals, or a number with its unit. The plain keypad,
    /// since some number keypads lack the decimal mark and none has units.
    pub fn decimal(&self, name: &str, label: &str) -> Field {
        Field::new(self, name, label, Control::Input("text")).narrow()
    }

    /// A file to attach. The form is opened with `.upload()`.
    pub fn file(&self, name: &str, label: &str) -> Field {
        Field::new(self, name, label, Control::Input("file")).wide()
    }

    /// One of many, in a drop-down list. For up to seven choices
    /// [`FormView::radios`] is easier to read.
    pub fn select<V: AsRef<str>, W: AsRef<str>>(&self, name: &str, label: &str, options: &[(V, W)]) -> Field {
        let mut field = Field::new(self, name, label, Control::Select);
        field.options = pairs(options);
        field
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn form(name: &str, value: &str) -> FormView {
        let mut entry = crate::web::form::Entry::default();
        entry.set(name, value);
        FormView {
            entry,
            faults: crate::web::form::Faults::default(),
            csrf: String::new(),
            key: String::new(),
            version: None,
            prefix: String::new(),
        }
    }

    #[test]
    fn what_was_typed_comes_back_escaped() {
        let page = form("name", "<b>\"O'Neil\" & co").text("name", "Name").to_string();
        assert!(page.contains("value=\"&#60;b&#62;&#34;O&#39;Neil&#34; &#38; co\""), "{page}");
        assert!(!page.contains("<b>"), "{page}");
    }

    #[test]
    fn a_fault_is_told_to_the_eye_and_to_a_screen_reader() {
        let mut form = form("seat", "far");
        form.faults.add("seat", "Write the distance with its unit.");
        let page = form.decimal("seat", "Seat").hint("For example 15 ft").to_string();
        assert!(page.contains("<strong>Error:</strong> Write the distance"), "{page}");
        assert!(page.contains("aria-invalid=\"true\""), "{page}");
        assert!(page.contains("aria-describedby=\"f-seat-hint f-seat-fault\""), "{page}");
        assert!(page.contains("id=\"f-seat-hint\"") && page.contains("id=\"f-seat-fault\""));
    }

    #[test]
    fn a_field_without_hint_or_fault_points_at_nothing() {
        let page = form("name", "").text("name", "Name").to_string();
        assert!(!page.contains("aria-describedby"), "{page}");
        assert!(!page.contains("aria-invalid"), "{page}");
    }

    #[test]
    fn a_date_that_a_date_field_would_drop_comes_back_as_text() {
        for typed in ["3/4/26", "2026-02-31", "2026-2-3"] {
            let page = form("held", typed).date("held", "Day").to_string();
            assert!(page.contains("type=\"text\""), "{page}");
            assert!(page.contains(&format!("value=\"{typed}\"")), "{page}");
        }
        let page = form("held", "2026-02-03").date("held", "Day").to_string();
        assert!(page.contains("type=\"date\""), "{page}");
    }

    #[test]
    fn a_password_is_never_sent_back() {
        let page = form("password", "hunter").password("password", "Password").to_string();
        assert!(!page.contains("hunter"), "{page}");
    }

    #[test]
    fn a_select_takes_nothing_by_mistake() {
        let options = [("a", "First"), ("b", "Second")];
        let page = form("task", "").select("task", "Task", &options).to_string();
        assert!(page.contains("<option value=\"\">Choose one</option>"), "{page}");
        let page = form("task", "b").select("task", "Task", &options).to_string();
        assert!(page.contains("<option value=\"b\" selected>Second"), "{page}");
        assert!(!page.contains("Choose one"), "{page}");
    }

    #[test]
    fn lines_of_text_keep_their_first_empty_line() {
        // A browser drops one line break right after the opening tag.
        let page = form("words", "\nsecond").area("words", "Words").to_string();
        assert!(page.contains(">\n\nsecond</textarea>"), "{page}");
    }
}
