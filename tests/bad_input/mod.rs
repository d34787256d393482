//! Any field, any bytes: an answer in the user's words beside the field,
//! everything typed kept, nothing stored, and never a broken server.
//!
//! `forms` lists the main forms and what each refuses, `odd` what only looks
//! odd, `wire` what no browser sends, `twice` what is sent twice or by two
//! people, and `hostile` throws everything at every form that any page shows.

mod forms;
mod hostile;
mod odd;
mod twice;
mod wire;

use axum::http::{HeaderMap, Method};

use crate::page::Page;
use crate::people::Person;

/// Name and value, as a form sends them.
type Pairs = Vec<(String, String)>;

/// Opens a page, changes these fields whatever the page offers, and sends it.
/// Gives what was sent and what came back.
async fn sends(person: &Person, page: &Page, button: &str, changes: &[(&str, &str)]) -> (Pairs, Page) {
    let (action, mut pairs) = page.filled(button, &[]);
    for (name, _) in changes {
        pairs.retain(|(known, _)| known != name);
    }
    pairs.extend(changes.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())));
    let answer = posts(person, &action, &pairs).await;
    (pairs, answer)
}

async fn posts(person: &Person, action: &str, pairs: &[(String, String)]) -> Page {
    let fields: Vec<(&str, &str)> = pairs.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    person.sends(Method::POST, action, &fields, HeaderMap::new()).await
}

/// What a form keeps: without the keys of the form itself and without passwords.
fn kept(pairs: &[(String, String)]) -> Pairs {
    const OF_THE_FORM: [&str; 7] = ["csrf", "key", "version", "password", "then", "do", "was"];
    let mut kept: Pairs = pairs
        .iter()
        .filter(|(name, value)| !OF_THE_FORM.contains(&name.as_str()) && !value.is_empty())
        .map(|(name, value)| (name.clone(), value.replace("\r\n", "\n")))
        .collect();
    kept.sort();
    kept
}
