//! The rules of HTML that every answer of the service keeps.
//!
//! Not a test of chosen pages: every page that any test opens is held against
//! them, errors and forms that came back included.

use std::collections::BTreeMap;

use scraper::{ElementRef, Html};

use crate::page::{Page, css, words};
use crate::world::ADDRESS;

/// Stops the test when an answer breaks a rule.
#[track_caller]
pub(crate) fn check(page: &Page) {
    let mut broken = headers(page);
    if page.is_html() {
        broken.extend(html(page.source()));
    }
    assert!(broken.is_empty(), "{} -> {}\n  {}", page.asked(), page.code(), broken.join("\n  "));
}

fn headers(page: &Page) -> Vec<String> {
    let mut broken = Vec::new();
    if page.code() >= 500 {
        broken.push(format!("the server failed: {}", page.seen()));
    }
    let policy = page.header("content-security-policy");
    if !policy.contains("default-src 'none'") || policy.contains("unsafe") {
        broken.push(format!("a lax content policy: {policy:?}"));
    }
    if page.header("x-content-type-options") != "nosniff" {
        broken.push("a browser may guess the type".to_owned());
    }
    if page.is_html() && page.header("cache-control") != "no-store" {
        broken.push("a page of the record may be kept by a cache".to_owned());
    }
    broken
}

/// What a page of HTML does wrong.
pub(crate) fn html(source: &str) -> Vec<String> {
    // A field keeps even a NUL that was typed; a browser shows it as a box.
    let html = Html::parse_document(&source.replace('\0', "\u{fffd}"));
    let mut broken: Vec<String> = html.errors.iter().map(|error| format!("not well formed: {error}")).collect();
    if !source.starts_with("<!doctype html>") {
        broken.push("no doctype".to_owned());
    }
    frame(&html, &mut broken);
    ids(&html, &mut broken);
    controls(&html, &mut broken);
    tables(&html, &mut broken);
    pictures(&html, &mut broken);
    scripts(&html, &mut broken);
    leftovers(&html, &mut broken);
    broken
}

fn frame(html: &Html, broken: &mut Vec<String>) {
    let title = html.select(&css("title")).next().map(words).unwrap_or_default();
    if !title.ends_with("Farpoint") || title.trim_end_matches("Farpoint").trim_matches([' ', '-']).is_empty() {
        broken.push(format!("the title is {title:?}"));
    }
    let heads: Vec<String> = html.select(&css("h1")).map(words).collect();
    if heads.len() != 1 || heads[0].is_empty() {
        broken.push(format!("one h1 is wanted: {heads:?}"));
    }
    if html.root_element().attr("lang").unwrap_or("").is_empty() {
        broken.push("the language is not said".to_owned());
    }
    if html.select(&css("main")).count() != 1 {
        broken.push("one main is wanted".to_owned());
    }
}

fn ids(html: &Html, broken: &mut Vec<String>) {
    let mut seen = BTreeMap::new();
    for element in html.select(&css("[id]")) {
        *seen.entry(element.attr("id").unwrap_or("")).or_insert(0) += 1;
    }
    for (id, count) in &seen {
        if *count > 1 || id.is_empty() {
            broken.push(format!("id {id:?} stands {count} times"));
        }
    }
    for attribute in ["aria-labelledby", "aria-describedby", "aria-controls", "for"] {
        for element in html.select(&css(&format!("[{attribute}]"))) {
            for id in element.attr(attribute).unwrap_or("").split_whitespace() {
                if !seen.contains_key(id) {
                    broken.push(format!("{attribute} names {id:?}, which is not there"));
                }
            }
        }
    }
    for link in html.select(&css("a[href^='#']")) {
        let target = link.attr("href").unwrap_or("").trim_start_matches('#');
        if !seen.contains_key(target) {
            broken.push(format!("the link {:?} has no target {target:?}", words(link)));
        }
    }
}

fn controls(html: &Html, broken: &mut Vec<String>) {
    for control in html.select(&css("input:not([type=hidden]), select, textarea")) {
        let name = control.attr("name").unwrap_or("");
        if label_of(html, control).is_empty() {
            broken.push(format!("the field {name:?} has no label"));
        }
        let choice = matches!(control.attr("type"), Some("radio"));
        if choice && within(control, "fieldset").is_none_or(|set| set.select(&css("legend")).next().is_none()) {
            broken.push(format!("the choices of {name:?} have no legend"));
        }
        if control.attr("type") == Some("number") {
            broken.push(format!("{name:?} is type=number, which swallows what was typed"));
        }
        if within(control, "form").is_none() {
            broken.push(format!("the field {name:?} belongs to no form"));
        }
    }
    for element in html.select(&css("a[href], button, summary")) {
        if name_of(element).is_empty() {
            broken.push(format!("nothing to press: {}", element.html()));
        }
    }
    for link in html.select(&css("a")) {
        if link.attr("href").is_none_or(str::is_empty) {
            broken.push(format!("a link that leads nowhere: {}", link.html()));
        }
    }
    let signed_in = html.select(&css("form[action='/sign-out']")).next().is_some();
    for form in html.select(&css("form")) {
        let token = form.select(&css("input[name=csrf]")).next().and_then(|input| input.attr("value")).unwrap_or("");
        match form.attr("method") {
            Some("post") if signed_in && token.is_empty() => {
                broken.push(format!("the form to {:?} carries no token", form.attr("action")));
            }
            Some("get") if !token.is_empty() => broken.push("a token would stand in an address".to_owned()),
            Some("post" | "get") => {}
            other => broken.push(format!("a form with the method {other:?}")),
        }
    }
}

fn within<'a>(element: ElementRef<'a>, name: &str) -> Option<ElementRef<'a>> {
    element.ancestors().filter_map(ElementRef::wrap).find(|one| one.value().name() == name)
}

fn label_of(html: &Html, control: ElementRef<'_>) -> String {
    if let Some(id) = control.attr("id")
        && let Some(label) = html.select(&css("label[for]")).find(|label| label.attr("for") == Some(id))
    {
        return words(label);
    }
    if let Some(label) = within(control, "label") {
        return words(label);
    }
    let spoken = control.attr("aria-labelledby").unwrap_or("");
    let by_others: String = html.select(&css("[id]")).filter(|one| one.attr("id") == Some(spoken)).map(words).collect();
    if by_others.is_empty() { control.attr("aria-label").unwrap_or("").to_owned() } else { by_others }
}

fn name_of(element: ElementRef<'_>) -> String {
    let shown = words(element);
    if shown.is_empty() { element.attr("aria-label").unwrap_or("").to_owned() } else { shown }
}

fn tables(html: &Html, broken: &mut Vec<String>) {
    for table in html.select(&css("table")) {
        let caption = table.select(&css("caption")).next().map(words).unwrap_or_default();
        if caption.is_empty() {
            broken.push("a table has no caption".to_owned());
        }
        if table.select(&css("th")).next().is_none() {
            broken.push(format!("the table {caption:?} has no headers"));
        }
        for head in table.select(&css("th")) {
            if !matches!(head.attr("scope"), Some("col" | "row" | "colgroup" | "rowgroup")) {
                broken.push(format!("in the table {caption:?} the header {:?} has no scope", words(head)));
            }
        }
    }
}

fn pictures(html: &Html, broken: &mut Vec<String>) {
    for image in html.select(&css("img")) {
        if image.attr("alt").is_none() {
            broken.push(format!("a picture without a text: {}", image.html()));
        }
    }
    for drawing in html.select(&css("svg")) {
        let hidden = drawing.attr("aria-hidden") == Some("true");
        let titled = drawing.select(&css("title")).next().is_some_and(|title| !words(title).is_empty());
        let told = drawing.attr("role") == Some("img") && titled;
        if !hidden && !told {
            broken.push("a drawing is neither hidden nor told in words".to_owned());
        }
    }
    for picture in html.select(&css("figure.picture")) {
        for (piece, what) in
            [("svg title", "title"), ("svg desc", "description"), ("figcaption", "caption"), ("table", "table")]
        {
            if picture.select(&css(piece)).next().is_none_or(|found| words(found).is_empty()) {
                broken.push(format!("a picture has no {what}"));
            }
        }
        for coloured in picture.select(&css("svg [fill], svg [stroke]")) {
            broken.push(format!("a picture sets a colour of its own: {}", coloured.html()));
        }
    }
}

fn scripts(html: &Html, broken: &mut Vec<String>) {
    for script in html.select(&css("script")) {
        if script.attr("src").is_none() {
            broken.push("a script inside the page".to_owned());
        }
    }
    if html.select(&css("style")).next().is_some() {
        broken.push("a style inside the page".to_owned());
    }
    for element in html.select(&css("*")) {
        for (name, value) in element.value().attrs() {
            if name == "style" || name.starts_with("on") {
                broken.push(format!("{name}= on <{}>", element.value().name()));
            }
            let address = matches!(name, "href" | "src" | "action" | "formaction");
            let at_home = value.starts_with(['/', '#', '?']) || value.is_empty() || value.starts_with(ADDRESS);
            if address && !at_home {
                broken.push(format!("{name} leads out of the house: {value}"));
            }
        }
    }
}

/// What a template or a debug print leaves behind.
fn leftovers(html: &Html, broken: &mut Vec<String>) {
    // The secret of an invitation is chance letters, and may spell any of these.
    let shown = html.select(&css("body")).next().map(words).unwrap_or_default();
    let shown = shown.split_whitespace().filter(|word| !word.contains("/invite/")).collect::<Vec<_>>().join(" ");
    for leftover in ["{{", "{%", "Some(", "None)", "NaN", "Ok(", "Err(", "&amp;", "&#"] {
        if shown.contains(leftover) {
            broken.push(format!("{leftover:?} stands in the text"));
        }
    }
}

#[test]
fn each_rule_finds_what_it_forbids() {
    let good = "<!doctype html>\n<html lang=\"en\"><head><title>Today - Farpoint</title></head><body><main><h1>Today</h1>HERE</main></body></html>";
    assert_eq!(html(&good.replace("HERE", "<p>Nothing yet.</p>")), Vec::<String>::new());
    let form = |inner: &str| format!("<form method=\"post\" action=\"/x\">{inner}</form>");
    for (piece, finds) in [
        ("<h1>Again</h1>".to_owned(), "one h1"),
        ("<p id=\"a\"></p><p id=\"a\"></p>".to_owned(), "stands 2 times"),
        ("<a href=\"#gone\">Mend</a>".to_owned(), "no target"),
        ("<p aria-describedby=\"gone\">x</p>".to_owned(), "not there"),
        (form("<input name=\"size\">"), "no label"),
        (form("<label for=\"s\"></label><input id=\"s\" name=\"size\">"), "no label"),
        (form("<label><input type=\"radio\" name=\"r\">a</label>"), "no legend"),
        (form("<label>n<input type=\"number\" name=\"n\"></label>"), "type=number"),
        ("<label>n<input name=\"n\"></label>".to_owned(), "belongs to no form"),
        (form("<button></button>"), "nothing to press"),
        ("<a>Here</a>".to_owned(), "leads nowhere"),
        ("<form action=\"/x\"></form>".to_owned(), "the method"),
        ("<form method=\"get\"><input type=\"hidden\" name=\"csrf\" value=\"x\"></form>".to_owned(), "in an address"),
        ("<table><tbody><tr><th scope=\"row\">a</th></tr></tbody></table>".to_owned(), "no caption"),
        ("<table><caption>Loans</caption><tbody><tr><td>a</td></tr></tbody></table>".to_owned(), "no headers"),
        ("<table><caption>Loans</caption><tbody><tr><th>a</th></tr></tbody></table>".to_owned(), "no scope"),
        ("<img src=\"/x.png\">".to_owned(), "without a text"),
        ("<svg role=\"img\"></svg>".to_owned(), "neither hidden nor told"),
        ("<figure class=\"picture\"><svg aria-hidden=\"true\"></svg></figure>".to_owned(), "a picture has no table"),
        ("<figure class=\"picture\"><svg><path fill=\"red\"/></svg></figure>".to_owned(), "a colour of its own"),
        ("<script>1</script>".to_owned(), "a script inside"),
        ("<style>p{}</style>".to_owned(), "a style inside"),
        ("<p style=\"x\">a</p>".to_owned(), "style= on"),
        ("<p onclick=\"x\">a</p>".to_owned(), "onclick= on"),
        ("<a href=\"https://elsewhere.example\">a</a>".to_owned(), "out of the house"),
        ("<p>Some(3)</p>".to_owned(), "in the text"),
        ("</section>".to_owned(), "not well formed"),
    ] {
        let broken = html(&good.replace("HERE", &piece));
        assert!(broken.iter().any(|found| found.contains(finds)), "{piece}: {finds} is not in {broken:?}");
    }
    for (from, to, finds) in [
        ("lang=\"en\"", "", "language"),
        ("Today - Farpoint", "Farpoint", "title"),
        ("Today - Farpoint", "Today", "title"),
        ("<!doctype html>", "", "doctype"),
        ("<h1>Today</h1>", "", "one h1"),
    ] {
        let broken = html(&good.replace(from, to));
        assert!(broken.iter().any(|found| found.contains(finds)), "{finds} is not in {broken:?}");
    }
}
