//! Reading the forms of our own pages, and filling them in as a browser would.
//!
//! Enough of HTML for what the templates write: tags, quoted attributes, a few
//! entities. Not for pages of anybody else. What a form shows and nobody changes
//! goes back as shown; a name or a choice that it does not offer is an error.

/// A choice of a list, a group of buttons or a box.
struct Offer {
    id: String,
    value: String,
    words: String,
    chosen: bool,
}

enum Kind {
    Text(String),
    /// One of a list; a browser sends the first when none is marked.
    List(Vec<Offer>),
    /// Round or square boxes of one name.
    Boxes(Vec<Offer>),
}

struct Control {
    name: String,
    kind: Kind,
}

struct Button {
    words: String,
    named: Option<(String, String)>,
    action: Option<String>,
}

/// A form of a page.
struct Form {
    action: String,
    controls: Vec<Control>,
    buttons: Vec<Button>,
}

/// A tag or the text between two of them.
enum Part<'a> {
    Open(&'a str, Vec<(&'a str, String)>),
    Close(&'a str),
    Text(&'a str),
}

fn unescaped(text: &str) -> String {
    let mut plain = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('&') {
        plain.push_str(before);
        let (name, behind) = after.split_once(';').unwrap_or(("", after));
        let letter = match name {
            "amp" => Some('&'),
            "lt" => Some('<'),
            "gt" => Some('>'),
            "quot" => Some('"'),
            name => name.strip_prefix('#').and_then(|number| number.parse().ok()).and_then(char::from_u32),
        };
        match letter {
            Some(letter) => {
                plain.push(letter);
                rest = behind;
            }
            None => {
                plain.push('&');
                rest = after;
            }
        }
    }
    plain.push_str(rest);
    plain
}

fn attributes(mut tag: &str) -> Vec<(&str, String)> {
    let mut found = Vec::new();
    loop {
        tag = tag.trim_start();
        let end = tag.find(|c: char| c == '=' || c.is_whitespace()).unwrap_or(tag.len());
        let (name, rest) = tag.split_at(end);
        if name.is_empty() {
            return found;
        }
        match rest.strip_prefix("=\"").and_then(|rest| rest.split_once('"')) {
            Some((value, rest)) => {
                found.push((name, unescaped(value)));
                tag = rest;
            }
            None => {
                found.push((name, String::new()));
                tag = rest.trim_start_matches('=');
            }
        }
    }
}

/// Where a tag ends: at the first `>` outside quotes.
fn end_of_tag(text: &str) -> usize {
    let mut quoted = false;
    for (at, letter) in text.char_indices() {
        match letter {
            '"' => quoted = !quoted,
            '>' if !quoted => return at,
            _ => {}
        }
    }
    text.len()
}

fn parts(html: &str) -> Vec<Part<'_>> {
    let mut found = Vec::new();
    let mut rest = html;
    while let Some((text, after)) = rest.split_once('<') {
        if !text.is_empty() {
            found.push(Part::Text(text));
        }
        let end = end_of_tag(after);
        let tag = &after[..end];
        rest = after.get(end + 1..).unwrap_or("");
        if let Some(name) = tag.strip_prefix('/') {
            found.push(Part::Close(name.trim()));
        } else if tag.starts_with(|c: char| c.is_ascii_alphabetic()) {
            let (name, attrs) = tag.split_once(char::is_whitespace).unwrap_or((tag, ""));
            found.push(Part::Open(name, attributes(attrs)));
        }
    }
    found.push(Part::Text(rest));
    found
}

fn squeezed(text: &str) -> String {
    unescaped(text).split_whitespace().collect::<Vec<_>>().join(" ")
}

fn say(words: &mut String, text: &str) {
    let text = squeezed(text);
    if !words.is_empty() && !text.is_empty() {
        words.push(' ');
    }
    words.push_str(&text);
}

fn get<'a>(attrs: &'a [(&str, String)], name: &str) -> Option<&'a str> {
    attrs.iter().find(|(found, _)| *found == name).map(|(_, value)| value.as_str())
}

/// The first address of a page that holds these letters.
pub(super) fn link(html: &str, holds: &str) -> Option<String> {
    html.split("href=\"")
        .skip(1)
        .filter_map(|rest| rest.split('"').next())
        .map(unescaped)
        .find(|href| href.contains(holds))
}

/// What stands on a page, without its tags.
pub(super) fn words(html: &str) -> String {
    let said: Vec<String> = parts(html)
        .into_iter()
        .filter_map(|part| match part {
            Part::Text(text) => Some(squeezed(text)).filter(|text| !text.is_empty()),
            _ => None,
        })
        .collect();
    said.join(" ")
}

fn forms(html: &str) -> Vec<Form> {
    let mut found: Vec<Form> = Vec::new();
    let mut inside = false;
    // What the text between tags belongs to.
    let mut into: Option<&str> = None;
    let mut label_for = String::new();
    for part in parts(html) {
        if let Part::Open("form", attrs) = &part {
            inside = true;
            let action = get(attrs, "action").unwrap_or("").to_owned();
            found.push(Form { action, controls: Vec::new(), buttons: Vec::new() });
        }
        let Some(form) = found.last_mut().filter(|_| inside) else { continue };
        match part {
            Part::Close("form") => inside = false,
            Part::Open("input", attrs) => form.input(&attrs),
            Part::Open("select", attrs) => {
                let name = get(&attrs, "name").unwrap_or("").to_owned();
                form.controls.push(Control { name, kind: Kind::List(Vec::new()) });
            }
            Part::Open("option", attrs) => {
                if let Some(Kind::List(offers)) = form.controls.last_mut().map(|control| &mut control.kind) {
                    let value = get(&attrs, "value").unwrap_or("").to_owned();
                    let chosen = get(&attrs, "selected").is_some();
                    offers.push(Offer { id: String::new(), value, words: String::new(), chosen });
                    into = Some("option");
                }
            }
            Part::Open("textarea", attrs) => {
                let name = get(&attrs, "name").unwrap_or("").to_owned();
                form.controls.push(Control { name, kind: Kind::Text(String::new()) });
                into = Some("textarea");
            }
            Part::Open("label", attrs) => {
                label_for = get(&attrs, "for").unwrap_or("").to_owned();
                into = Some("label");
            }
            Part::Open("button", attrs) => {
                let own = |name: &str| get(&attrs, name).map(str::to_owned);
                let named = own("name").map(|name| (name, own("value").unwrap_or_default()));
                form.buttons.push(Button { words: String::new(), named, action: own("formaction") });
                into = Some("button");
            }
            Part::Close(name) if into == Some(name) => into = None,
            Part::Text(text) => form.text(into, &label_for, text),
            Part::Open(..) | Part::Close(_) => {}
        }
    }
    found
}

impl Form {
    fn input(&mut self, attrs: &[(&str, String)]) {
        let Some(name) = get(attrs, "name") else { return };
        let own = |name: &str| get(attrs, name).unwrap_or("").to_owned();
        if !matches!(get(attrs, "type"), Some("radio" | "checkbox")) {
            self.controls.push(Control { name: name.to_owned(), kind: Kind::Text(own("value")) });
            return;
        }
        let chosen = get(attrs, "checked").is_some();
        let offer = Offer { id: own("id"), value: own("value"), words: String::new(), chosen };
        match self.controls.iter_mut().find(|control| control.name == name).map(|control| &mut control.kind) {
            Some(Kind::Boxes(offers)) => offers.push(offer),
            _ => self.controls.push(Control { name: name.to_owned(), kind: Kind::Boxes(vec![offer]) }),
        }
    }

    fn text(&mut self, into: Option<&str>, label_for: &str, text: &str) {
        match into {
            Some("option") => {
                if let Some(Kind::List(offers)) = self.controls.last_mut().map(|control| &mut control.kind)
                    && let Some(offer) = offers.last_mut()
                {
                    say(&mut offer.words, text);
                }
            }
            Some("textarea") => {
                if let Some(Kind::Text(value)) = self.controls.last_mut().map(|control| &mut control.kind) {
                    // A browser drops one line break right after the opening tag.
                    value.push_str(&unescaped(text.strip_prefix('\n').unwrap_or(text)));
                }
            }
            Some("label") => {
                let boxes = self.controls.iter_mut().filter_map(|control| match &mut control.kind {
                    Kind::Boxes(offers) => Some(offers),
                    _ => None,
                });
                for offer in boxes.flatten().filter(|offer| offer.id == label_for) {
                    say(&mut offer.words, text);
                }
            }
            Some("button") => {
                if let Some(button) = self.buttons.last_mut() {
                    say(&mut button.words, text);
                }
            }
            _ => {}
        }
    }

    fn filled(&self, pressed: &Button, fields: &[(&str, String)]) -> Result<Vec<(String, String)>, String> {
        let mut pairs = Vec::new();
        for control in &self.controls {
            let wanted: Vec<&str> =
                fields.iter().filter(|(name, _)| *name == control.name).map(|(_, value)| value.as_str()).collect();
            let values = if wanted.is_empty() { control.shown() } else { control.taken(&wanted)? };
            pairs.extend(values.into_iter().map(|value| (control.name.clone(), value)));
        }
        if let Some((name, _)) =
            fields.iter().find(|(name, _)| self.controls.iter().all(|control| control.name != *name))
        {
            let names: Vec<&str> = self.controls.iter().map(|control| control.name.as_str()).collect();
            return Err(format!("there is no field {name} among {}", names.join(", ")));
        }
        pairs.extend(pressed.named.clone());
        Ok(pairs)
    }
}

impl Control {
    fn shown(&self) -> Vec<String> {
        match &self.kind {
            Kind::Text(value) => vec![value.clone()],
            Kind::List(offers) => {
                let chosen = offers.iter().find(|offer| offer.chosen).or(offers.first());
                chosen.map(|offer| offer.value.clone()).into_iter().collect()
            }
            Kind::Boxes(offers) => {
                offers.iter().filter(|offer| offer.chosen).map(|offer| offer.value.clone()).collect()
            }
        }
    }

    /// The wanted values; `~words` is the choice that a reader knows by these words.
    fn taken(&self, wanted: &[&str]) -> Result<Vec<String>, String> {
        let (Kind::List(offers) | Kind::Boxes(offers)) = &self.kind else {
            return Ok(wanted.iter().map(|value| (*value).to_owned()).collect());
        };
        let mut taken = Vec::new();
        for want in wanted {
            let fits = |offer: &&Offer| match want.strip_prefix('~') {
                Some(words) => offer.words.contains(words),
                None => offer.value == *want,
            };
            // No box at all is how a browser says no.
            if want.is_empty() && matches!(self.kind, Kind::Boxes(_)) {
                continue;
            }
            match offers.iter().find(fits) {
                Some(offer) => taken.push(offer.value.clone()),
                None => {
                    let known: Vec<String> =
                        offers.iter().map(|offer| format!("{} ({})", offer.value, offer.words)).collect();
                    return Err(format!("{} does not offer {want}, only {}", self.name, known.join(", ")));
                }
            }
        }
        Ok(taken)
    }
}

/// What a browser would send, and where, for a button of a page with these
/// fields filled in.
///
/// # Errors
/// Says which button, name or choice the page does not have.
pub(super) fn filled(
    html: &str,
    path: &str,
    button: &str,
    fields: &[(&str, String)],
) -> Result<(String, Vec<(String, String)>), String> {
    let mut why = format!("there is no button \u{201c}{button}\u{201d}");
    for form in forms(html) {
        let Some(pressed) = form.buttons.iter().find(|found| found.words == button) else { continue };
        match form.filled(pressed, fields) {
            Ok(pairs) => {
                let action = pressed.action.as_deref().unwrap_or(&form.action);
                return Ok((if action.is_empty() { path } else { action }.to_owned(), pairs));
            }
            Err(reason) => why = reason,
        }
    }
    Err(why)
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAGE: &str = r#"<form method="get" action="/q"><button type="submit">Show</button></form>
<form method="post" action="/save" novalidate>
<input type="hidden" name="csrf" value="a&#38;b">
<input type="radio" id="f1" name="eye" value="right"><label for="f1">The right</label>
<input type="radio" id="f2" name="eye" value="left" checked><label for="f2">The left</label>
<input type="checkbox" id="f3" name="strap" value="yes" checked><label for="f3">Strap</label>
<select name="device"><option value="">Choose</option><option value="7">LOAN-T &#62; 14</option></select>
<textarea name="note">
&#60;b&#62;</textarea>
<button type="submit" name="do" value="sign">Sign <span>it</span></button></form>"#;

    fn sent(fields: &[(&str, &str)]) -> Result<String, String> {
        let fields: Vec<(&str, String)> = fields.iter().map(|(name, value)| (*name, (*value).to_owned())).collect();
        let (action, pairs) = filled(PAGE, "/here", "Sign it", &fields)?;
        Ok(format!(
            "{action}?{}",
            pairs.iter().map(|(name, value)| format!("{name}={value}")).collect::<Vec<_>>().join("&")
        ))
    }

    #[test]
    fn what_is_shown_goes_back_and_what_is_wanted_replaces_it() {
        assert_eq!(sent(&[]).as_deref(), Ok("/save?csrf=a&b&eye=left&strap=yes&device=&note=<b>&do=sign"));
        assert_eq!(
            sent(&[("eye", "~right"), ("device", "~LOAN-T > 14"), ("strap", ""), ("note", "x")]).as_deref(),
            Ok("/save?csrf=a&b&eye=right&device=7&note=x&do=sign")
        );
    }

    #[test]
    fn what_the_page_does_not_offer_is_an_error() {
        assert!(sent(&[("colour", "red")]).is_err_and(|why| why.contains("no field colour")));
        assert!(sent(&[("eye", "third")]).is_err_and(|why| why.contains("does not offer third")));
        assert!(filled(PAGE, "/here", "Burn", &[]).is_err_and(|why| why.contains("Burn")));
    }
}
