//! How are words set in lines?
//!
//! Parley shapes, breaks and orders them, also from right to left; a [`Set`] is the
//! result. No hyphens, no ligatures, ragged right: what is easiest to read.

use std::ops::Range;
use std::rc::Rc;

use krilla::geom::Point;
use krilla::surface::Surface;
use krilla::text::{GlyphId, KrillaGlyph};
use parley::{
    Alignment, AlignmentOptions, FontContext, FontFeatures, FontWeight, Layout, LayoutContext, LineHeight,
    OverflowWrap, StyleProperty,
};

use super::fonts::Faces;
use super::model::Text;

/// How some words are set.
#[derive(Debug, Clone, Copy)]
pub(super) struct Manner {
    /// The size of the letters, in points.
    pub(super) size: f32,
    /// From line to line, in sizes.
    pub(super) leading: f32,
    /// All of it bold.
    pub(super) strong: bool,
    /// Flush right.
    pub(super) right: bool,
}

/// Words, set.
pub(super) struct Set {
    layout: Layout<()>,
    words: String,
    size: f32,
    right: bool,
}

/// Sets words.
pub(super) struct Setter {
    fonts: FontContext,
    lines: LayoutContext<()>,
    faces: &'static Faces,
}

impl Setter {
    pub(super) fn new(faces: &'static Faces) -> Self {
        Self { fonts: faces.context(), lines: LayoutContext::new(), faces }
    }

    /// The words, shaped and not yet broken into lines. A text without words is a space,
    /// so that a cell without content is a cell all the same.
    pub(super) fn shape(&mut self, text: &Text, manner: Manner) -> Set {
        let mut words = String::new();
        let mut strong: Vec<Range<usize>> = Vec::new();
        for span in &text.0 {
            let from = words.len();
            words.push_str(&self.faces.printable(&span.words));
            if span.strong {
                strong.push(from..words.len());
            }
        }
        if words.trim().is_empty() {
            words = " ".to_owned();
            strong.clear();
        }
        let mut builder = self.lines.ranged_builder(&mut self.fonts, &words, 1.0, false);
        builder.push_default(StyleProperty::FontFamily(Faces::families()));
        builder.push_default(StyleProperty::FontSize(manner.size));
        builder.push_default(StyleProperty::LineHeight(LineHeight::FontSizeRelative(manner.leading)));
        builder.push_default(StyleProperty::FontFeatures(FontFeatures::Source("\"liga\" 0, \"clig\" 0".into())));
        builder.push_default(StyleProperty::OverflowWrap(OverflowWrap::BreakWord));
        if manner.strong {
            builder.push_default(StyleProperty::FontWeight(FontWeight::BOLD));
        }
        for range in strong {
            builder.push(StyleProperty::FontWeight(FontWeight::BOLD), range);
        }
        let layout = builder.build(&words);
        Set { layout, words, size: manner.size, right: manner.right }
    }

    /// The words in lines of this width.
    pub(super) fn set(&mut self, text: &Text, manner: Manner, width: f32) -> Rc<Set> {
        let mut set = self.shape(text, manner);
        set.break_at(width);
        Rc::new(set)
    }
}

impl Set {
    /// Breaks it into lines of this width, in points.
    pub(super) fn break_at(&mut self, width: f32) {
        self.layout.break_all_lines(Some(width));
        let alignment = if self.right { Alignment::Right } else { Alignment::Start };
        self.layout.align(alignment, AlignmentOptions::default());
    }

    /// The width of its longest word, and of all of it on one line.
    pub(super) fn widths(&self) -> (f32, f32) {
        let widths = self.layout.calculate_content_widths();
        (widths.min, widths.max)
    }

    /// How many lines it has.
    pub(super) fn lines(&self) -> usize {
        self.layout.len()
    }

    /// How much room some of its lines take.
    pub(super) fn height(&self, lines: Range<usize>) -> f32 {
        lines.filter_map(|at| self.layout.get(at)).map(|line| line.metrics().line_height).sum()
    }

    /// All of it.
    pub(super) fn whole(&self) -> f32 {
        self.height(0..self.lines())
    }

    /// How wide its lines came out.
    pub(super) fn width(&self) -> f32 {
        self.layout.width()
    }

    /// Draws some of its lines, the first one's upper edge at `top`.
    pub(super) fn draw(&self, surface: &mut Surface<'_>, faces: &Faces, lines: Range<usize>, (left, top): (f32, f32)) {
        let mut y = top;
        for line in lines.filter_map(|at| self.layout.get(at)) {
            let metrics = line.metrics();
            let baseline = y + (metrics.baseline - metrics.block_min_coord);
            let mut x = left + metrics.offset;
            for run in line.runs() {
                let Some(font) = faces.written(run.font().data.id()) else { continue };
                let mut glyphs: Vec<KrillaGlyph> = Vec::new();
                for cluster in run.visual_clusters() {
                    let range = cluster.text_range();
                    if self.words.get(range.clone()) == Some("\n") {
                        continue;
                    }
                    if cluster.is_ligature_continuation() {
                        // Read back, the glyph stands for all the letters it was made of.
                        if let Some(last) = glyphs.last_mut() {
                            last.text_range =
                                last.text_range.start.min(range.start)..last.text_range.end.max(range.end);
                        }
                        continue;
                    }
                    glyphs.extend(cluster.glyphs().map(|glyph| {
                        let of = |points: f32| points / self.size;
                        let id = GlyphId::new(glyph.id);
                        KrillaGlyph::new(id, of(glyph.advance), of(glyph.x), of(-glyph.y), 0.0, range.clone(), None)
                    }));
                }
                if !glyphs.is_empty() {
                    let start = Point::from_xy(x, baseline);
                    surface.draw_glyphs(start, &glyphs, font.clone(), &self.words, self.size, false);
                }
                x += run.advance();
            }
            y += metrics.line_height;
        }
    }
}
