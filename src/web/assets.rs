//! Where do the style sheet, the script, the fonts and the mark come from?
//!
//! They are compiled into the program from `static/`. Each is linked by an
//! address that ends in the hash of its bytes, so a browser may keep it for a
//! year and still sees a change at once.
//! Nothing here is private and nothing here knows who asks.
//! Read next: `templates/base.html`, which links them.

use std::sync::LazyLock;

use axum::http::{StatusCode, Uri, header};
use axum::response::{IntoResponse, Response};
use rust_embed::RustEmbed;

use super::routes::Routes;

#[derive(RustEmbed)]
#[folder = "static/"]
struct Static;

/// Every name with its address: the first eight bytes of the hash, in hex.
static ADDRESSES: LazyLock<Vec<(String, String)>> = LazyLock::new(|| {
    Static::iter()
        .filter_map(|name| {
            let hash = Static::get(&name)?.metadata.sha256_hash();
            let short: String = hash.iter().take(8).map(|b| format!("{b:02x}")).collect();
            Some((name.to_string(), format!("/static/{name}?v={short}")))
        })
        .collect()
});

/// The one route of these files; they are open to all.
pub fn routes(routes: Routes) -> Routes {
    routes.open_get("/static/{*path}", asset)
}

/// The address of a file in `static/`, ending in its hash. A name that does
/// not exist gives an address that answers 404.
pub fn asset_url(name: &str) -> &'static str {
    ADDRESSES.iter().find(|(known, _)| known == name).map_or("/static/", |(_, address)| address)
}

/// The style sheet, for what else is drawn by it.
pub(super) fn style() -> String {
    let file = Static::get("style.css");
    file.map(|file| String::from_utf8_lossy(&file.data).into_owned()).unwrap_or_default()
}

/// Serves one file.
pub async fn asset(uri: Uri) -> Response {
    let name = uri.path().trim_start_matches("/static/");
    let Some(file) = Static::get(name) else {
        return StatusCode::NOT_FOUND.into_response();
    };
    // A font is named by the style sheet, which cannot know a hash: a changed
    // font gets a new name. Anything else may only be kept under its hash.
    let asked = uri.path_and_query().map_or("", |whole| whole.as_str());
    let keep = if name.starts_with("fonts/") || asked == asset_url(name) {
        "public, max-age=31536000, immutable"
    } else {
        "no-cache"
    };
    (
        [
            (header::CONTENT_TYPE, content_type(name)),
            (header::CACHE_CONTROL, keep),
            (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        ],
        file.data.into_owned(),
    )
        .into_response()
}

/// The content type by the end of the name; the few kinds that `static/` has.
fn content_type(path: &str) -> &'static str {
    match path.rsplit_once('.').map(|(_, end)| end) {
        Some("css") => "text/css; charset=utf-8",
        Some("js") => "text/javascript; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("woff2") => "font/woff2",
        Some("txt") => "text/plain; charset=utf-8",
        _ => "application/octet-stream",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance, 0 to 1, as WCAG 2.2 defines it, of `#rgb` or
    /// `#rrggbb`.
    fn luminance(colour: &str) -> f64 {
        let digits = colour.trim_start_matches('#');
        let wide: String = match digits.len() {
            3 => digits.chars().flat_map(|c| [c, c]).collect(),
            _ => digits.to_owned(),
        };
        let channel = |at: usize| {
            let part = u8::from_str_radix(&wide[at..at + 2], 16).expect("two hex digits");
            let share = f64::from(part) / 255.0;
            if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
        };
        0.2126 * channel(0) + 0.7152 * channel(2) + 0.0722 * channel(4)
    }

    fn contrast(one: &str, other: &str) -> f64 {
        let (one, other) = (luminance(one), luminance(other));
        (one.max(other) + 0.05) / (one.min(other) + 0.05)
    }

    /// The colours named in one block of the style sheet.
    fn palette(style: &str, opening: &str) -> Vec<(String, String)> {
        let (_, rest) = style.split_once(opening).expect("the block is there");
        let (block, _) = rest.split_once('}').expect("the block ends");
        block
            .split(';')
            .filter_map(|line| line.trim().strip_prefix("--")?.split_once(": #"))
            .map(|(name, value)| (name.to_owned(), format!("#{}", value.trim())))
            .collect()
    }

    #[test]
    fn contrast_agrees_with_published_pairs() {
        // WCAG 2.2, understanding 1.4.3: black on white is 21:1, #767676 on
        // white is the lightest grey that reaches 4.5:1.
        assert!((contrast("#000", "#fff") - 21.0).abs() < 1e-9);
        assert!(contrast("#767676", "#fff") >= 4.5);
        assert!(contrast("#777777", "#fff") < 4.5);
    }

    #[test]
    fn every_pair_of_text_and_ground_reaches_seven_to_one() {
        let style = style();
        for opening in ["\n:root {", ":root:not([data-appearance=\"light\"]) {", "\n:root[data-appearance=\"dark\"] {"]
        {
            let colours = palette(&style, opening);
            let of = |wanted: &str| {
                let found = colours.iter().find(|(name, _)| name == wanted);
                found.map(|(_, value)| value.as_str()).expect("the colour is named")
            };
            for ground in ["paper", "card"] {
                for text in ["ink", "soft", "action", "good", "caution", "stop"] {
                    let ratio = contrast(of(text), of(ground));
                    assert!(ratio >= 7.0, "{opening} {text} on {ground}: {ratio:.2}");
                }
                for edge in ["rule", "focus"] {
                    let ratio = contrast(of(edge), of(ground));
                    assert!(ratio >= 3.0, "{opening} {edge} on {ground}: {ratio:.2}");
                }
            }
        }
    }

    #[test]
    fn the_two_dark_palettes_are_the_same() {
        let style = style();
        let wished = palette(&style, ":root:not([data-appearance=\"light\"]) {");
        assert!(wished.len() >= 10);
        assert_eq!(wished, palette(&style, "\n:root[data-appearance=\"dark\"] {"));
    }

    #[test]
    fn every_font_the_style_sheet_names_is_carried_with_its_licence() {
        let style = style();
        let named: Vec<&str> = style.split("url(\"").skip(1).filter_map(|rest| rest.split('"').next()).collect();
        assert_eq!(named.len(), 4);
        for name in named {
            assert!(Static::get(name).is_some(), "{name}");
        }
        assert!(Static::get("fonts/OFL.txt").is_some());
    }

    #[tokio::test]
    async fn only_an_address_with_its_own_hash_is_kept() {
        let keep = async |address: &str| {
            let answer = asset(address.parse().expect("an address")).await;
            let kept = answer.headers().get(header::CACHE_CONTROL).cloned();
            (answer.status(), kept.map(|value| value.to_str().expect("text").to_owned()))
        };
        let hashed = asset_url("style.css");
        assert!(hashed.starts_with("/static/style.css?v="));
        let (status, kept) = keep(hashed).await;
        assert_eq!(status, StatusCode::OK);
        assert!(kept.is_some_and(|kept| kept.contains("immutable")));
        let (_, kept) = keep("/static/style.css?v=0").await;
        assert_eq!(kept.as_deref(), Some("no-cache"));
        let (status, _) = keep("/static/../Cargo.toml").await;
        assert_eq!(status, StatusCode::NOT_FOUND);
        let (status, _) = keep("/static/nothing.css").await;
        assert_eq!(status, StatusCode::NOT_FOUND);
    }
}
