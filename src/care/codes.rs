//! Closed lists of trade words: how does a choice read on screen, and under
//! which code is it stored?
//!
//! `codes!` writes an enum whose members each have a stable `snake_case` code
//! (for columns, forms and JSON) and English words (for people). Two members
//! with one code, or a code with a space in it, do not compile.
//! Does not know other languages: a catalogue translates from the code.

/// The text is not a code of the list it was read for.
///
/// It names the list, never the text: what was typed may be about a student.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("not a code of the list {list}")]
pub struct UnknownCode {
    /// The name of the enum whose codes were searched.
    pub list: &'static str,
}

/// Whether all codes are different and made of `a-z`, `0-9` and `_` only.
///
/// Evaluated while compiling, once for each list.
#[must_use]
pub const fn sound(codes: &[&str]) -> bool {
    let mut i = 0;
    while i < codes.len() {
        let code = codes[i].as_bytes();
        if code.is_empty() {
            return false;
        }
        let mut k = 0;
        while k < code.len() {
            if !matches!(code[k], b'a'..=b'z' | b'0'..=b'9' | b'_') {
                return false;
            }
            k += 1;
        }
        let mut j = 0;
        while j < i {
            if same(code, codes[j].as_bytes()) {
                return false;
            }
            j += 1;
        }
        i += 1;
    }
    true
}

const fn same(a: &[u8], b: &[u8]) -> bool {
    if a.len() != b.len() {
        return false;
    }
    let mut i = 0;
    while i < a.len() {
        if a[i] != b[i] {
            return false;
        }
        i += 1;
    }
    true
}

/// Writes a closed list: `Name = "code" : "words"`, in the order people read.
///
/// Gives `ALL`, `code()`, `words()`, `FromStr` (by code, [`UnknownCode`]
/// otherwise), `Display` (the words) and serde as the code. The words also
/// document the member.
///
/// ```text
/// codes! {
///     /// Where a student reads.
///     pub enum Place {
///         QuietRoom = "quiet_room" : "quiet room",
///         Hallway = "hallway" : "hallway",
///     }
/// }
/// ```
macro_rules! codes {
    ($(
        $(#[$meta:meta])*
        $vis:vis enum $name:ident {
            $($(#[$member_meta:meta])* $member:ident = $code:literal : $words:literal),+ $(,)?
        }
    )+) => {$(
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        $vis enum $name {
            $(#[doc = $words] $(#[$member_meta])* $member),+
        }

        const _: () = assert!(
            $crate::care::codes::sound(&[$($code),+]),
            "a code is empty, used twice, or not snake_case",
        );

        impl $name {
            /// Every member, in the order people read them.
            pub const ALL: &[Self] = &[$(Self::$member),+];

            /// The stored code; never changes once a record holds it.
            #[must_use]
            pub const fn code(self) -> &'static str {
                match self { $(Self::$member => $code),+ }
            }

            /// The English words, lower case, for the middle of a sentence.
            #[must_use]
            pub const fn words(self) -> &'static str {
                match self { $(Self::$member => $words),+ }
            }
        }

        impl ::std::fmt::Display for $name {
            fn fmt(&self, f: &mut ::std::fmt::Formatter<'_>) -> ::std::fmt::Result {
                f.pad(self.words())
            }
        }

        impl ::std::str::FromStr for $name {
            type Err = $crate::care::codes::UnknownCode;

            fn from_str(text: &str) -> Result<Self, Self::Err> {
                match text {
                    $($code => Ok(Self::$member),)+
                    _ => Err($crate::care::codes::UnknownCode { list: stringify!($name) }),
                }
            }
        }

        impl ::serde::Serialize for $name {
            fn serialize<S: ::serde::Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
                to.serialize_str(self.code())
            }
        }

        impl<'de> ::serde::Deserialize<'de> for $name {
            fn deserialize<D: ::serde::Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
                let code = <::std::borrow::Cow<'de, str> as ::serde::Deserialize>::deserialize(from)?;
                code.parse().map_err(::serde::de::Error::custom)
            }
        }
    )+};
}
pub(crate) use codes;
