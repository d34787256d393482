//! How is a picture of a page drawn on paper?

use std::sync::Arc;

use usvg::{Options, Tree};

use super::Unprintable;
use super::fonts::Faces;

/// A picture, read.
pub(super) fn tree(svg: &str, style: &str, faces: &Faces) -> Result<Tree, Unprintable> {
    let options = Options {
        font_family: "sans-serif".to_owned(),
        fontdb: Arc::clone(&faces.pictures),
        style_sheet: Some(style.to_owned()),
        ..Options::default()
    };
    Tree::from_str(svg, &options).map_err(|_| Unprintable::Picture)
}

/// The size of the letters in a picture of the pages, in its own units.
pub(super) const LETTERS: f32 = 14.0;
