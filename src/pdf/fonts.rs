//! Which typefaces are there, and which letters do they have?
//!
//! The typeface of the pages in two weights, and behind it one that has most of the
//! world's alphabets, for a name or a quotation. What none of them has is printed as
//! an empty box: PDF/UA forbids a missing letter, and leaving it out would hide that
//! there was one.

use std::sync::{Arc, OnceLock};

use parley::fontique::{Blob, Collection, CollectionOptions, FontInfoOverride, SourceCache};
use parley::{FontContext, FontFamily, FontFamilyName};
use skrifa::{FontRef, MetadataProvider};
use usvg::fontdb;

use super::Unprintable;

/// The typeface of the pages, as the style sheet names it.
const FAMILY: &str = "Atkinson Hyperlegible Next";
/// The same typeface's letters with marks that are rare in English.
const MORE: &str = "Atkinson Hyperlegible Next, more letters";
/// The typeface behind it.
const BEHIND: &str = "DejaVu Sans";

const FILES: [(&str, &[u8]); 5] = [
    (FAMILY, include_bytes!("fonts/atkinson-hyperlegible-next-400.ttf")),
    (FAMILY, include_bytes!("fonts/atkinson-hyperlegible-next-700.ttf")),
    (MORE, include_bytes!("fonts/atkinson-hyperlegible-next-400-extended.ttf")),
    (MORE, include_bytes!("fonts/atkinson-hyperlegible-next-700-extended.ttf")),
    (BEHIND, include_bytes!("fonts/dejavu-sans.ttf")),
];

/// What stands for a letter that no typeface here has.
const BOX: char = '\u{25af}';

/// The typefaces, read once.
pub(super) struct Faces {
    context: FontContext,
    /// The data as the setter of lines knows it, and as the writer of the file does.
    written: Vec<(u64, krilla::text::Font)>,
    known: Vec<FontRef<'static>>,
    /// For the words inside pictures.
    pub(super) pictures: Arc<fontdb::Database>,
}

/// The typefaces.
pub(super) fn faces() -> Result<&'static Faces, Unprintable> {
    static FACES: OnceLock<Option<Faces>> = OnceLock::new();
    FACES.get_or_init(Faces::read).as_ref().ok_or(Unprintable::Typeface)
}

impl Faces {
    fn read() -> Option<Self> {
        let mut collection = Collection::new(CollectionOptions { shared: false, system_fonts: false });
        let mut pictures = fontdb::Database::new();
        let mut written = Vec::new();
        let mut known = Vec::new();
        for (family, bytes) in FILES {
            let data = Blob::new(Arc::new(bytes));
            written.push((data.id(), krilla::text::Font::new(bytes.into(), 0)?));
            known.push(FontRef::new(bytes).ok()?);
            let named = FontInfoOverride { family_name: Some(family), ..FontInfoOverride::default() };
            collection.register_fonts(data, Some(named));
            pictures.load_font_data(bytes.to_vec());
        }
        pictures.set_sans_serif_family(FAMILY);
        Some(Self {
            context: FontContext { collection, source_cache: SourceCache::default() },
            written,
            known,
            pictures: Arc::new(pictures),
        })
    }

    /// A context to set lines with.
    pub(super) fn context(&self) -> FontContext {
        self.context.clone()
    }

    /// The typeface that a run was set in, as the file embeds it.
    pub(super) fn written(&self, id: u64) -> Option<&krilla::text::Font> {
        self.written.iter().find(|(known, _)| *known == id).map(|(_, font)| font)
    }

    /// The families to set in, the first that has a letter sets it.
    pub(super) fn families() -> FontFamily<'static> {
        static LIST: [FontFamilyName<'static>; 3] =
            [FontFamilyName::named(FAMILY), FontFamilyName::named(MORE), FontFamilyName::named(BEHIND)];
        FontFamily::List(LIST.as_slice().into())
    }

    /// The words with every letter that can be printed, and a box for each that cannot.
    pub(super) fn printable(&self, words: &str) -> String {
        words.chars().filter_map(|letter| self.letter(letter)).collect()
    }

    /// For how many letters of the words there is only a box.
    pub(super) fn boxes(&self, words: &str) -> usize {
        words.chars().filter(|letter| *letter != BOX && self.letter(*letter) == Some(BOX)).count()
    }

    fn letter(&self, letter: char) -> Option<char> {
        match letter {
            '\n' => Some('\n'),
            _ if letter.is_whitespace() && letter != '\u{a0}' && letter != '\u{202f}' => Some(' '),
            // Marks without a shape of their own: direction, joining, variants, byte order.
            '\u{ad}'
            | '\u{200b}'..='\u{200f}'
            | '\u{202a}'..='\u{202e}'
            | '\u{2060}'..='\u{206f}'
            | '\u{fe00}'..='\u{fe0f}'
            | '\u{feff}' => None,
            _ if letter.is_control() => None,
            _ if self.known.iter().any(|face| face.charmap().map(letter).is_some_and(|glyph| glyph.to_u32() != 0)) => {
                Some(letter)
            }
            _ => Some(BOX),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_of_many_alphabets_are_printed_and_what_is_left_is_a_box() {
        let faces = faces().expect("the typefaces are part of the program");
        for words in ["Łukasz Nguyễn", "Иван Ћирић", "Ελένη", "אבג", "سلام", "20/40 \u{2212}2, 3 \u{d7} 2.8 \u{2265} 1"]
        {
            assert_eq!(faces.printable(words), words);
        }
        assert_eq!(faces.printable("ok \u{6f22}!"), "ok \u{25af}!");
        assert_eq!(faces.printable("a\u{200f}b\tc\u{7}"), "ab c");
    }
}
