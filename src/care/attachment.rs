//! Is this file a scan that can be kept?
//!
//! What a file is, its content says: its name and what the browser calls it are
//! never asked. PDF, JPEG and PNG are kept, when they begin, hang together and
//! end as such a file does; nothing here decodes a picture or runs a page.
//!
//! The whole way of a file, for whoever adds a form with one:
//!
//! 1. `web::upload::Uploaded` reads the form: the fields as `Posted` gives them,
//!    and the file, of which no more than [`LARGEST`] bytes are ever held.
//! 2. [`check`] gives [`Checked`], or [`Refused`] in the user's words; show it
//!    beside the file's field.
//! 3. `store::Files::lay` writes the bytes to the disk, before any transaction:
//!    a temporary name, flushed, renamed, the folder flushed. What it gives
//!    takes the file away again when it is dropped.
//! 4. `store::attachment::keep` writes the row inside the transaction of the
//!    parent's own write, under the parent's proof; the commit makes both last.
//! 5. `web::attachment` hands it out again, under the proof to read the parent.

use std::fmt;

/// The most bytes a file may have.
pub const LARGEST: usize = 10 * 1024 * 1024;

/// The most pixels a picture may have: a sheet at 600 dpi has 35 million, the
/// cameras of most phones 12 to 50 million. Common practice.
pub const MOST_PIXELS: u64 = 60_000_000;

/// The longest name that is kept, in characters.
const LONGEST_NAME: usize = 120;

/// What a file's content says it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FileKind {
    /// A PDF.
    Pdf,
    /// A JPEG picture.
    Jpeg,
    /// A PNG picture.
    Png,
}

impl FileKind {
    /// Every kind that is kept.
    pub const ALL: [Self; 3] = [Self::Pdf, Self::Jpeg, Self::Png];

    /// Its media type.
    #[must_use]
    pub const fn media(self) -> &'static str {
        match self {
            Self::Pdf => "application/pdf",
            Self::Jpeg => "image/jpeg",
            Self::Png => "image/png",
        }
    }

    /// As people call it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::Pdf => "PDF",
            Self::Jpeg => "JPEG picture",
            Self::Png => "PNG picture",
        }
    }

    /// How the name of such a file ends, without the dot.
    #[must_use]
    pub const fn ending(self) -> &'static str {
        match self {
            Self::Pdf => "pdf",
            Self::Jpeg => "jpg",
            Self::Png => "png",
        }
    }

    /// How the names of such files end; the first is put behind one without.
    const fn endings(self) -> &'static [&'static str] {
        match self {
            Self::Pdf => &[".pdf"],
            Self::Jpeg => &[".jpg", ".jpeg"],
            Self::Png => &[".png"],
        }
    }
}

impl std::str::FromStr for FileKind {
    type Err = NotAKind;

    fn from_str(media: &str) -> Result<Self, NotAKind> {
        Self::ALL.into_iter().find(|kind| kind.media() == media).ok_or(NotAKind)
    }
}

/// The media type is none of those kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("not a kind of file that is kept")]
pub struct NotAKind;

/// A file that was found whole. There is no other way to one than [`check`].
#[derive(Clone, PartialEq, Eq)]
pub struct Checked {
    kind: FileKind,
    name: String,
    bytes: Vec<u8>,
}

impl Checked {
    /// What it is.
    #[must_use]
    pub const fn kind(&self) -> FileKind {
        self.kind
    }

    /// The name it came with, cleaned; text for people, never a path.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its content.
    #[must_use]
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }
}

impl fmt::Debug for Checked {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "Checked({:?}, {} bytes)", self.kind, self.bytes.len())
    }
}

/// Why a file is not kept; its `Display` is what the person is told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Refused {
    /// Nothing is in it.
    Empty,
    /// It has more bytes than [`LARGEST`]: this many, as far as they were counted.
    TooLarge {
        /// How many came.
        bytes: u64,
        /// Whether reading stopped before its end.
        more: bool,
    },
    /// Its content is of another kind, whatever its name says.
    OtherKind(Other),
    /// It begins as this kind, and is cut short or damaged.
    Broken(FileKind),
    /// A picture with more pixels than [`MOST_PIXELS`].
    TooManyPixels {
        /// Across.
        width: u32,
        /// Down.
        height: u32,
    },
}

/// Other kinds of file that people choose by mistake.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Other {
    /// A program.
    Program,
    /// A photo as some telephones keep it.
    PhonePhoto,
    /// A text document of an office program, or an archive.
    Document,
    /// Anything else.
    Unknown,
}

impl fmt::Display for Refused {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => f.write_str("The file is empty. Open it on your device to see whether the scan is in it, then choose it again."),
            Self::TooLarge { bytes, more } => write!(
                f,
                "The file is {}{}. The largest that can be kept is {}. Scan it in grey or at 150 dpi.",
                if *more { "more than " } else { "" },
                size_words(*bytes),
                size_words(LARGEST as u64)
            ),
            Self::OtherKind(other) => f.write_str(match other {
                Other::Program => "This file is a program, whatever its name says. It was not kept. Choose the scan of the paper: a PDF, a JPEG or a PNG.",
                Other::PhonePhoto => "This is a photo in a format that not every computer can open (HEIC). Save it as JPEG, or scan the paper to a PDF, and choose that file.",
                Other::Document => "This is a text document or an archive, not a scan. Save or print it as PDF and choose that file.",
                Other::Unknown => "This file is not a PDF, a JPEG or a PNG, whatever its name says. Scan or photograph the paper and choose that file.",
            }),
            Self::Broken(kind) => write!(
                f,
                "The file begins as a {} and is not whole: its end is missing or it is damaged. Open it on your device to see, then scan or copy it again.",
                kind.words()
            ),
            Self::TooManyPixels { width, height } => write!(
                f,
                "The picture is {width} by {height} pixels, more than most computers can show. Scan it at 300 dpi or less."
            ),
        }
    }
}

impl std::error::Error for Refused {}

/// A size as people read it, never less than it is: `10 MB`, `3.2 MB`, `400 kB`.
#[must_use]
pub fn size_words(bytes: u64) -> String {
    const KILO: u64 = 1024;
    const MEGA: u64 = KILO * KILO;
    if bytes < MEGA {
        return format!("{} kB", bytes.div_ceil(KILO));
    }
    let tenths = (bytes * 10).div_ceil(MEGA);
    match tenths % 10 {
        0 => format!("{} MB", tenths / 10),
        _ if tenths >= 1_000 => format!("{} MB", tenths.div_ceil(10)),
        rest => format!("{}.{rest} MB", tenths / 10),
    }
}

/// Decides by content whether a file can be kept.
///
/// # Errors
/// [`Refused`], with the reason in the words of whoever chose the file.
pub fn check(bytes: Vec<u8>, name: &str) -> Result<Checked, Refused> {
    if bytes.is_empty() {
        return Err(Refused::Empty);
    }
    if bytes.len() > LARGEST {
        return Err(Refused::TooLarge { bytes: bytes.len() as u64, more: false });
    }
    let kind = if is_pdf(&bytes) {
        pdf_is_whole(&bytes)?;
        FileKind::Pdf
    } else if bytes.starts_with(&[0xff, 0xd8, 0xff]) {
        within_reason(jpeg_size(&bytes).ok_or(Refused::Broken(FileKind::Jpeg))?)?;
        FileKind::Jpeg
    } else if bytes.starts_with(PNG) {
        within_reason(png_size(&bytes).ok_or(Refused::Broken(FileKind::Png))?)?;
        FileKind::Png
    } else {
        return Err(Refused::OtherKind(other(&bytes)));
    };
    Ok(Checked { kind, name: cleaned(name, kind), bytes })
}

/// The signature of PNG. Source: ISO/IEC 15948, 5.2.
const PNG: &[u8] = b"\x89PNG\r\n\x1a\n";

fn within_reason((width, height): (u32, u32)) -> Result<(), Refused> {
    if u64::from(width) * u64::from(height) > MOST_PIXELS {
        return Err(Refused::TooManyPixels { width, height });
    }
    Ok(())
}

fn other(bytes: &[u8]) -> Other {
    let brand = bytes.get(4..12).unwrap_or_default();
    let photo = brand.starts_with(b"ftyp")
        && [&b"heic"[..], b"heix", b"mif1", b"msf1", b"hevc"].iter().any(|known| brand.ends_with(known));
    if bytes.starts_with(b"MZ") || bytes.starts_with(b"\x7fELF") || bytes.starts_with(b"#!") {
        Other::Program
    } else if photo {
        Other::PhonePhoto
    } else if bytes.starts_with(b"PK\x03\x04") || bytes.starts_with(b"\xd0\xcf\x11\xe0") {
        Other::Document
    } else {
        Other::Unknown
    }
}

/// Readers look for the header within the first 1024 bytes. Source: ISO 32000-1,
/// 7.5.2, and its implementation note. A program that holds one is no PDF.
fn is_pdf(bytes: &[u8]) -> bool {
    let head = &bytes[..bytes.len().min(1024)];
    other(bytes) == Other::Unknown && find(head, b"%PDF-").is_some()
}

/// A PDF ends with the place of its cross-reference table, inside the file, and
/// the mark of its end. Source: ISO 32000-1, 7.5.5.
fn pdf_is_whole(bytes: &[u8]) -> Result<(), Refused> {
    let broken = Refused::Broken(FileKind::Pdf);
    let tail = &bytes[bytes.len().saturating_sub(2048)..];
    let at = rfind(tail, b"startxref").ok_or(broken.clone())?;
    let rest = &tail[at + b"startxref".len()..];
    if find(rest, b"%%EOF").is_none() {
        return Err(broken);
    }
    let digits: String = rest
        .iter()
        .skip_while(|byte| byte.is_ascii_whitespace())
        .take_while(|byte| byte.is_ascii_digit())
        .map(|byte| char::from(*byte))
        .collect();
    match digits.parse::<usize>() {
        Ok(place) if place < bytes.len() => Ok(()),
        _ => Err(broken),
    }
}

/// The size of a JPEG: its segments are walked up to the picture, whose end must
/// be there. Source: ITU-T T.81, annex B.
fn jpeg_size(bytes: &[u8]) -> Option<(u32, u32)> {
    let mut at = 2;
    let mut size = None;
    loop {
        let marker = *bytes.get(at + 1)?;
        match (bytes.get(at)?, marker) {
            // A filling byte.
            (0xff, 0xff) => at += 1,
            // Markers without a length.
            (0xff, 0x01 | 0xd0..=0xd7) => at += 2,
            // The end before the picture, or a second beginning.
            (0xff, 0x00 | 0xd8 | 0xd9) => return None,
            (0xff, _) => {
                let length = usize::from(u16::from_be_bytes([*bytes.get(at + 2)?, *bytes.get(at + 3)?]));
                let segment = bytes.get(at + 4..(at + 2).checked_add(length)?)?;
                // Frame headers; C4, C8 and CC are tables.
                if (0xc0..=0xcf).contains(&marker) && ![0xc4, 0xc8, 0xcc].contains(&marker) {
                    let [_, high, low, wide, narrow] = *segment.first_chunk::<5>()?;
                    size = Some((
                        u32::from(u16::from_be_bytes([wide, narrow])),
                        u32::from(u16::from_be_bytes([high, low])),
                    ));
                }
                at += 2 + length;
                if marker == 0xda {
                    // What follows is the picture. Inside it FF is never followed by D9.
                    find(&bytes[at..], &[0xff, 0xd9])?;
                    return size.filter(|(width, height)| *width > 0 && *height > 0);
                }
            }
            _ => return None,
        }
    }
}

/// The size of a PNG whose every chunk, up to the last, has the checksum it
/// names. Source: ISO/IEC 15948, 5.3 and 11.2.2.
fn png_size(bytes: &[u8]) -> Option<(u32, u32)> {
    let word = |at: usize| Some(u32::from_be_bytes(*bytes.get(at..at + 4)?.first_chunk::<4>()?));
    let mut at = PNG.len();
    let mut size = None;
    let mut picture = false;
    loop {
        let length = usize::try_from(word(at)?).ok()?;
        let end = (at + 8).checked_add(length)?;
        let named = bytes.get(at + 4..end)?;
        if crc32fast::hash(named) != word(end)? {
            return None;
        }
        match &named[..4] {
            b"IHDR" if size.is_none() && length == 13 => size = Some((word(at + 8)?, word(at + 12)?)),
            // The header comes first.
            _ if size.is_none() => return None,
            b"IDAT" => picture = true,
            b"IEND" => return size.filter(|(width, height)| picture && *width > 0 && *height > 0),
            _ => {}
        }
        at = end + 4;
    }
}

fn find(bytes: &[u8], wanted: &[u8]) -> Option<usize> {
    bytes.windows(wanted.len()).position(|window| window == wanted)
}

fn rfind(bytes: &[u8], wanted: &[u8]) -> Option<usize> {
    bytes.windows(wanted.len()).rposition(|window| window == wanted)
}

/// A name as people may read it: without folders, without what cannot be seen or
/// turns the direction of text round, and with the ending of its kind.
fn cleaned(name: &str, kind: FileKind) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let unseen = |c: char| {
        c.is_control()
            || matches!(c, '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{2069}' | '\u{feff}')
    };
    let seen: String = last.chars().map(|c| if c.is_whitespace() { ' ' } else { c }).filter(|c| !unseen(*c)).collect();
    let seen = seen.split_whitespace().collect::<Vec<_>>().join(" ");
    let plain = seen.trim().trim_matches('.').trim();
    let lower = plain.to_lowercase();
    let ending = kind.endings().iter().find(|ending| lower.ends_with(*ending));
    let stem = ending.map_or(plain, |ending| plain.get(..plain.len() - ending.len()).unwrap_or(plain)).trim_end();
    let ending = ending.unwrap_or(&kind.endings()[0]);
    let stem: String = stem.chars().take(LONGEST_NAME - 5).collect();
    if stem.is_empty() { format!("scan{ending}") } else { format!("{stem}{ending}") }
}
