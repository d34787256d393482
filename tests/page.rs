//! What came back, read as a person reads it.
//!
//! The checks (`ok`, `hidden`, `refused`, …) give the page again, so that a test
//! reads as one sentence; a failed one prints who asked for what and what the
//! page says.

use std::collections::BTreeMap;

use axum::body::to_bytes;
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::Response;
use scraper::{ElementRef, Html, Selector};

/// An answer.
#[derive(Clone)]
pub(crate) struct Page {
    /// Who asked, how, for what.
    asked: String,
    path: String,
    status: StatusCode,
    headers: HeaderMap,
    body: String,
}

/// One thing that a form sends.
#[derive(Debug, Clone)]
pub(crate) struct Control {
    pub(crate) name: String,
    /// The type of an input, or `select` or `textarea`.
    pub(crate) kind: String,
    pub(crate) value: String,
    /// What a list offers.
    pub(crate) offered: Vec<String>,
}

/// A table of a page, read row by row.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Table {
    pub(crate) heads: Vec<String>,
    pub(crate) rows: Vec<Vec<String>>,
}

impl Page {
    pub(crate) async fn read(asked: String, path: &str, response: Response) -> Self {
        let (parts, body) = response.into_parts();
        let bytes = to_bytes(body, 64 << 20).await.expect("a whole answer");
        let body = String::from_utf8_lossy(&bytes).into_owned();
        Self { asked, path: path.to_owned(), status: parts.status, headers: parts.headers, body }
    }

    // What it is.

    pub(crate) fn code(&self) -> u16 {
        self.status.as_u16()
    }

    pub(crate) fn asked(&self) -> &str {
        &self.asked
    }

    /// The address that was asked for.
    pub(crate) fn path(&self) -> &str {
        &self.path
    }

    pub(crate) fn header(&self, name: &str) -> &str {
        self.headers.get(name).and_then(|value| value.to_str().ok()).unwrap_or("")
    }

    pub(crate) fn is_html(&self) -> bool {
        self.header("content-type").starts_with("text/html")
    }

    /// The source, for what must not stand anywhere in it.
    pub(crate) fn source(&self) -> &str {
        &self.body
    }

    pub(crate) fn html(&self) -> Html {
        Html::parse_document(&self.body)
    }

    pub(crate) fn title(&self) -> String {
        self.first("title")
    }

    pub(crate) fn h1(&self) -> String {
        self.first("h1")
    }

    /// The words of the page, without what every page has around them.
    pub(crate) fn seen(&self) -> String {
        let html = self.html();
        html.select(&css("main")).next().map_or_else(|| self.body.clone(), words)
    }

    /// The stages that the strip over the page shows.
    pub(crate) fn stages(&self) -> Vec<String> {
        let html = self.html();
        html.select(&css(".student .stages li")).map(words).collect()
    }

    /// The links of the page, address and words, without the frame's.
    pub(crate) fn links(&self) -> Vec<(String, String)> {
        let html = self.html();
        html.select(&css("main a[href], .student a[href]"))
            .map(|link| (link.attr("href").unwrap_or("").to_owned(), words(link)))
            .collect()
    }

    /// The address behind the words of a link.
    pub(crate) fn link(&self, words: &str) -> String {
        let links = self.links();
        let found = links.iter().find(|(_, text)| text == words);
        found.map_or_else(|| panic!("{}: no link \"{words}\" among {links:?}", self.asked), |(href, _)| href.clone())
    }

    /// The table with this caption.
    pub(crate) fn table(&self, caption: &str) -> Table {
        let html = self.html();
        let all = css("table");
        let found = html
            .select(&all)
            .find(|table| table.select(&css("caption")).next().is_some_and(|found| words(found).starts_with(caption)));
        let table = found.unwrap_or_else(|| panic!("{}: no table \"{caption}\"\n{}", self.asked, self.seen()));
        let cells = |row: ElementRef<'_>| row.select(&css("th, td")).map(words).collect();
        Table {
            heads: table.select(&css("thead th")).map(words).collect(),
            rows: table.select(&css("tbody tr")).map(cells).collect(),
        }
    }

    /// What the page says beside a field, if it finds fault with it.
    pub(crate) fn error_for(&self, field: &str) -> Option<String> {
        let html = self.html();
        let control = html.select(&css("input, select, textarea")).find(|one| one.attr("name") == Some(field))?;
        let frame = control.ancestors().filter_map(ElementRef::wrap).find(|one| has_class(*one, "field"))?;
        let fault = frame.select(&css(".fault")).next()?;
        Some(words(fault).trim_start_matches("Error:").trim().to_owned())
    }

    /// What stands in a field: typed text, or the choice made.
    pub(crate) fn value_of(&self, field: &str) -> Option<String> {
        self.values().remove(field)
    }

    /// What stands in every field, by name.
    pub(crate) fn values(&self) -> BTreeMap<String, String> {
        let html = self.html();
        let mut values = BTreeMap::new();
        for control in html.select(&css("input, select, textarea")) {
            for value in shown(control) {
                values.insert(control.attr("name").unwrap_or("").to_owned(), value);
            }
        }
        values
    }

    /// The values that a list or a set of choices offers.
    pub(crate) fn choices_of(&self, field: &str) -> Vec<String> {
        let html = self.html();
        let mut values = Vec::new();
        for control in html.select(&css("select, input")).filter(|one| one.attr("name") == Some(field)) {
            if control.value().name() == "select" {
                values
                    .extend(control.select(&css("option")).map(|option| option.attr("value").unwrap_or("").to_owned()));
            } else {
                values.push(control.attr("value").unwrap_or("").to_owned());
            }
        }
        values
    }

    /// What a list or a set of choices offers: the value, and the words beside it.
    pub(crate) fn choices_named(&self, field: &str) -> Vec<(String, String)> {
        let html = self.html();
        let (options, labels) = (css("option"), css("label[for]"));
        let mut offered = Vec::new();
        for control in html.select(&css("select, input")).filter(|one| one.attr("name") == Some(field)) {
            let value = |element: ElementRef<'_>| element.attr("value").unwrap_or("").to_owned();
            if control.value().name() == "select" {
                offered.extend(control.select(&options).map(|option| (value(option), words(option))));
            } else {
                let label = html.select(&labels).find(|label| label.attr("for") == control.attr("id"));
                offered.push((value(control), label.map(words).unwrap_or_default()));
            }
        }
        offered
    }

    /// A hidden value of the form that is sent to this address.
    pub(crate) fn value_near(&self, action: &str, field: &str) -> Option<String> {
        let html = self.html();
        let forms = css("form");
        let form = html.select(&forms).find(|form| form.attr("action") == Some(action))?;
        let fields = css("input");
        let input = form.select(&fields).find(|input| input.attr("name") == Some(field))?;
        input.attr("value").map(str::to_owned)
    }

    /// The session's token, as the page's forms carry it.
    pub(crate) fn csrf(&self) -> Option<String> {
        if !self.is_html() {
            return None;
        }
        // Asked of every answer, so it is searched and not parsed; a token is plain text.
        let (_, rest) = self.body.split_once("name=\"csrf\" value=\"")?;
        rest.split('"').next().filter(|value| !value.is_empty()).map(str::to_owned)
    }

    // What it must be.

    #[track_caller]
    pub(crate) fn status(self, code: u16) -> Self {
        assert_eq!(self.code(), code, "{}", self.report());
        self
    }

    /// The page that was asked for.
    #[track_caller]
    pub(crate) fn ok(self) -> Self {
        self.status(200)
    }

    /// As if it did not exist.
    #[track_caller]
    pub(crate) fn hidden(self) -> Self {
        self.status(404).sees("Nothing is shown at this address")
    }

    /// The neutral page of a parent from whom all of a record is kept.
    #[track_caller]
    pub(crate) fn asks_to_go_to_the_office(self) -> Self {
        self.status(404).sees("Please ask the school office")
    }

    /// The page of a parent whose child is of age and has not said what she may read.
    #[track_caller]
    pub(crate) fn waits_for_the_student(self) -> Self {
        self.status(404).sees("Your child is now the one who decides")
    }

    /// Known to exist, and not allowed.
    #[track_caller]
    pub(crate) fn forbidden(self) -> Self {
        self.status(403)
    }

    /// The form again, with what is wrong beside this field.
    #[track_caller]
    pub(crate) fn refused(self, field: &str) -> Self {
        let page = self.status(422);
        assert!(page.error_for(field).is_some(), "no fault beside \"{field}\"\n{}", page.report());
        page
    }

    /// Another step comes first, and the page says which.
    #[track_caller]
    pub(crate) fn blocked(self, words: &str) -> Self {
        self.status(409).sees(words)
    }

    /// Where a redirect points.
    #[track_caller]
    pub(crate) fn redirected_to(&self) -> String {
        assert!(self.status.is_redirection(), "no redirect\n{}", self.report());
        self.header(header::LOCATION.as_str()).to_owned()
    }

    #[track_caller]
    pub(crate) fn sees(self, words: &str) -> Self {
        assert!(self.seen().contains(words), "\"{words}\" is not on the page\n{}", self.report());
        self
    }

    /// Not even in the source.
    #[track_caller]
    pub(crate) fn lacks(self, words: &str) -> Self {
        assert!(!self.body.contains(words), "\"{words}\" is in the page\n{}", self.report());
        self
    }

    pub(crate) fn report(&self) -> String {
        let to = self.header(header::LOCATION.as_str());
        format!("{}\n-> {} {to}\n{}\n{}", self.asked, self.status, self.title(), self.seen())
    }

    fn first(&self, selector: &str) -> String {
        let html = self.html();
        html.select(&css(selector)).next().map(words).unwrap_or_default()
    }

    // Its forms.

    /// Every form that is sent by POST: its address and what it sends.
    pub(crate) fn forms(&self) -> Vec<(String, Vec<Control>)> {
        let html = self.html();
        let of = |form: ElementRef<'_>| {
            let action = form.attr("action").filter(|action| !action.is_empty()).unwrap_or(&self.path).to_owned();
            let controls = form.select(&css("input, select, textarea")).filter_map(control).collect();
            (action, controls)
        };
        html.select(&css("form[method=post]")).map(of).collect()
    }

    /// The address and the pairs that a browser would send when this button is
    /// pressed after these fields were filled in.
    #[track_caller]
    pub(crate) fn filled(&self, button: &str, fields: &[(&str, &str)]) -> (String, Vec<(String, String)>) {
        let html = self.html();
        let forms = css("form");
        let mut reasons = Vec::new();
        for form in html.select(&forms) {
            let Some(pressed) = form.select(&css("button")).find(|found| words(*found) == button) else { continue };
            match fill(form, pressed, fields) {
                Ok(pairs) => {
                    let action = pressed.attr("formaction").or_else(|| form.attr("action")).unwrap_or("");
                    let action = if action.is_empty() { &self.path } else { action };
                    return (action.to_owned(), pairs);
                }
                Err(reason) => reasons.push(reason),
            }
        }
        panic!("{}: no form with the button \"{button}\" takes this: {reasons:?}\n{}", self.asked, self.report());
    }
}

fn control(one: ElementRef<'_>) -> Option<Control> {
    let element = one.value().name();
    let kind = if element == "input" { one.attr("type").unwrap_or("text") } else { element };
    let offered = one.select(&css("option")).map(|option| option.attr("value").unwrap_or("").to_owned()).collect();
    Some(Control {
        name: one.attr("name")?.to_owned(),
        kind: kind.to_owned(),
        value: one.attr("value").unwrap_or("").to_owned(),
        offered,
    })
}

fn fill(
    form: ElementRef<'_>,
    pressed: ElementRef<'_>,
    fields: &[(&str, &str)],
) -> Result<Vec<(String, String)>, String> {
    let mut pairs = Vec::new();
    let mut filled = Vec::new();
    let offered = form.select(&css("input, select, textarea")).collect::<Vec<_>>();
    for control in &offered {
        let Some(name) = control.attr("name").filter(|_| control.attr("disabled").is_none()) else { continue };
        let wanted: Vec<&str> = fields.iter().filter(|(field, _)| *field == name).map(|(_, value)| *value).collect();
        if wanted.is_empty() {
            pairs.extend(shown(*control).into_iter().map(|value| (name.to_owned(), value)));
        } else if filled.contains(&name) {
            // Its values went in with the first control of that name.
        } else {
            for value in &wanted {
                if !takes(&offered, name, value) {
                    return Err(format!("\"{name}\" does not offer \"{value}\""));
                }
                pairs.push((name.to_owned(), (*value).to_owned()));
            }
            filled.push(name);
        }
    }
    if let Some((name, _)) = fields.iter().find(|(name, _)| !filled.contains(name)) {
        return Err(format!("there is no field \"{name}\""));
    }
    if let Some(name) = pressed.attr("name") {
        pairs.push((name.to_owned(), pressed.attr("value").unwrap_or("").to_owned()));
    }
    Ok(pairs)
}

/// What a control would send as the page shows it.
pub(crate) fn shown(control: ElementRef<'_>) -> Vec<String> {
    match control.value().name() {
        "textarea" => vec![control.text().collect::<String>().trim_start_matches('\n').to_owned()],
        "select" => {
            let options = css("option");
            let chosen = control.select(&options).find(|option| option.attr("selected").is_some());
            let first = chosen.or_else(|| control.select(&options).next());
            first.map(|option| option.attr("value").unwrap_or("").to_owned()).into_iter().collect()
        }
        _ => match control.attr("type").unwrap_or("text") {
            "radio" | "checkbox" if control.attr("checked").is_none() => Vec::new(),
            "submit" | "button" | "reset" => Vec::new(),
            "radio" | "checkbox" => vec![control.attr("value").unwrap_or("on").to_owned()],
            _ => vec![control.attr("value").unwrap_or("").to_owned()],
        },
    }
}

/// Whether a person could put this value into the field of this name.
fn takes(offered: &[ElementRef<'_>], name: &str, value: &str) -> bool {
    offered.iter().filter(|one| one.attr("name") == Some(name)).any(|one| match one.value().name() {
        "textarea" => true,
        "select" => one.select(&css("option")).any(|option| option.attr("value") == Some(value)),
        _ => match one.attr("type").unwrap_or("text") {
            "radio" | "checkbox" | "hidden" => one.attr("value") == Some(value),
            _ => true,
        },
    })
}

fn has_class(element: ElementRef<'_>, class: &str) -> bool {
    element.value().classes().any(|found| found == class)
}

/// The words of an element with single spaces between them.
pub(crate) fn words(element: ElementRef<'_>) -> String {
    element.text().flat_map(str::split_whitespace).collect::<Vec<_>>().join(" ")
}

pub(crate) fn css(selector: &str) -> Selector {
    Selector::parse(selector).unwrap_or_else(|error| panic!("{selector}: {error}"))
}
