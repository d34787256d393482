//! How do marks on pages become a tagged PDF?
//!
//! Every mark of a part is drawn inside marked content; the tree of parts then takes
//! them up in reading order. Everything else is an artifact. Krilla holds the file
//! against the rules of PDF/UA-1 that a program can check, and refuses it.

use std::collections::HashMap;
use std::num::{NonZeroU16, NonZeroU32};

use krilla::configure::{Accessibility, ConfigurationBuilder, PdfVersion};
use krilla::destination::XyzDestination;
use krilla::error::KrillaError;
use krilla::geom::{PathBuilder, Point, Rect, Size, Transform};
use krilla::metadata::Metadata;
use krilla::num::NormalizedF32;
use krilla::outline::{Outline, OutlineNode};
use krilla::page::PageSettings;
use krilla::paint::{Fill, FillRule, Stroke};
use krilla::surface::Surface;
use krilla::tagging::{
    Artifact, ArtifactType, BBox, ContentTag, Identifier, ListNumbering, Node as Leaf, SpanTag, TableHeaderScope, Tag,
    TagGroup, TagTree,
};
use krilla::{Document as File, SerializeSettings, color::rgb};
use krilla_svg::{SurfaceExt, SvgSettings};

use super::flow::{Child, Kind, Laid, Mark, Node, NodeId};
use super::fonts::Faces;
use super::{Document, Unprintable};

type Drawn = HashMap<(usize, usize), Identifier>;

/// Draws the pages and writes the file.
pub(super) fn draw(document: &Document, faces: &Faces, laid: Laid) -> Result<Vec<u8>, Unprintable> {
    let configuration = ConfigurationBuilder::new()
        .with_version(PdfVersion::Pdf17)
        .with_accessibility_validator(Accessibility::UA1)
        .finish()
        .map_err(|_| Unprintable::Written)?;
    let mut file = File::new_with(SerializeSettings { configuration, ..SerializeSettings::default() });
    let (width, height) = document.sheet.points();
    let mut drawn = Drawn::new();
    let mut boxes: HashMap<(usize, usize), Rect> = HashMap::new();
    for (number, marks) in laid.pages.iter().enumerate() {
        let settings = PageSettings::from_wh(width, height).ok_or(Unprintable::Written)?;
        let mut page = file.start_page_with(settings);
        let mut surface = page.surface();
        for (at, mark) in marks.iter().enumerate() {
            let id = surface.start_tagged(content(mark));
            if let Some(area) = one(&mut surface, faces, mark) {
                boxes.insert((number, at), area);
            }
            surface.end_tagged();
            if real(mark) {
                drawn.insert((number, at), id);
            }
        }
        surface.finish();
        page.finish();
    }
    let mut tree = TagTree::new().with_lang(Some(document.language.clone()));
    let parts = Parts { nodes: &laid.nodes, boxes: &boxes };
    for id in &laid.top {
        if let Some(group) = parts.group(*id, &mut drawn) {
            tree.push(group);
        }
    }
    file.set_tag_tree(tree);
    file.set_outline(outline(&laid));
    file.set_metadata(
        Metadata::new()
            .title(document.title.clone())
            .language(document.language.clone())
            .creator("Farpoint".to_owned()),
    );
    file.finish().map_err(|error| match error {
        KrillaError::Validation(broken) => Unprintable::Rules(broken.len()),
        _ => Unprintable::Written,
    })
}

/// Whether a mark says something, or is for the eye alone.
const fn real(mark: &Mark) -> bool {
    match mark {
        Mark::Lines { real, .. } => *real,
        Mark::Picture { .. } => true,
        Mark::Rule { .. } => false,
    }
}

fn content(mark: &Mark) -> ContentTag<'static> {
    match mark {
        Mark::Lines { real: true, .. } => ContentTag::Span(SpanTag::empty()),
        Mark::Lines { real: false, .. } => ContentTag::Artifact(Artifact::with_kind(ArtifactType::PaginationOther)),
        Mark::Picture { .. } => ContentTag::Other,
        Mark::Rule { .. } => ContentTag::Artifact(Artifact::with_kind(ArtifactType::Layout)),
    }
}

/// Draws a mark; the area of a picture is told.
fn one(surface: &mut Surface<'_>, faces: &Faces, mark: &Mark) -> Option<Rect> {
    match mark {
        Mark::Lines { set, lines, at, .. } => {
            surface.set_stroke(None);
            surface.set_fill(Some(black()));
            set.draw(surface, faces, lines.clone(), *at);
            None
        }
        Mark::Rule { from, to, width } => {
            let mut path = PathBuilder::new();
            path.move_to(from.0, from.1);
            path.line_to(to.0, to.1);
            surface.set_fill(None);
            surface.set_stroke(Some(Stroke { paint: rgb::Color::black().into(), width: *width, ..Stroke::default() }));
            surface.draw_path(&path.finish()?);
            surface.set_stroke(None);
            None
        }
        Mark::Picture { tree, at, size } => {
            surface.push_transform(&Transform::from_translate(at.0, at.1));
            let whole = Size::from_wh(size.0, size.1)?;
            surface.draw_svg(tree, whole, SvgSettings::default());
            surface.pop();
            Rect::from_xywh(at.0, at.1, size.0, size.1)
        }
    }
}

fn black() -> Fill {
    Fill { paint: rgb::Color::black().into(), opacity: NormalizedF32::ONE, rule: FillRule::NonZero }
}

/// The parts, being put into the tree.
struct Parts<'l> {
    nodes: &'l [Node],
    boxes: &'l HashMap<(usize, usize), Rect>,
}

impl Parts<'_> {
    /// A part with all it holds; none where it holds nothing.
    fn group(&self, id: NodeId, drawn: &mut Drawn) -> Option<TagGroup> {
        let node = self.nodes.get(id)?;
        let mut children: Vec<Leaf> = Vec::new();
        for child in &node.children {
            match child {
                Child::Node(id) => children.extend(self.group(*id, drawn).map(Leaf::from)),
                Child::Mark { page, mark } => children.extend(drawn.remove(&(*page, *mark)).map(Leaf::from)),
            }
        }
        if children.is_empty() {
            return None;
        }
        let mut group = self.tag(node);
        group.children = children;
        Some(group)
    }

    fn tag(&self, node: &Node) -> TagGroup {
        match &node.kind {
            Kind::Heading { level, title } => {
                let level = NonZeroU16::new(u16::from(*level)).unwrap_or(NonZeroU16::MIN);
                TagGroup::new(Tag::Hn(level, Some(title.clone())))
            }
            Kind::Paragraph => TagGroup::new(Tag::P),
            Kind::Quote => TagGroup::new(Tag::BlockQuote),
            Kind::Part => TagGroup::new(Tag::Div),
            Kind::List { ordered: true } => TagGroup::new(Tag::L(ListNumbering::Decimal)),
            Kind::List { ordered: false } => TagGroup::new(Tag::L(ListNumbering::Disc)),
            Kind::Terms => TagGroup::new(Tag::L(ListNumbering::None)),
            Kind::Item => TagGroup::new(Tag::LI),
            Kind::Label => TagGroup::new(Tag::Lbl),
            Kind::Body => TagGroup::new(Tag::LBody),
            Kind::Table => TagGroup::new(Tag::Table),
            Kind::Caption => TagGroup::new(Tag::Caption),
            Kind::Head => TagGroup::new(Tag::THead),
            Kind::Rows => TagGroup::new(Tag::TBody),
            Kind::Row => TagGroup::new(Tag::TR),
            Kind::ColumnHead { across } => {
                TagGroup::new(Tag::TH(TableHeaderScope::Column).with_col_span(span(*across)))
            }
            Kind::RowHead { across } => TagGroup::new(Tag::TH(TableHeaderScope::Row).with_col_span(span(*across))),
            Kind::Cell => TagGroup::new(Tag::TD),
            Kind::Figure { alternative } => {
                let area = node.children.iter().find_map(|child| match child {
                    Child::Mark { page, mark } => Some(BBox::new(*page, *self.boxes.get(&(*page, *mark))?)),
                    Child::Node(_) => None,
                });
                TagGroup::new(Tag::Figure(Some(alternative.clone())).with_bbox(area))
            }
        }
    }
}

fn span(columns: u32) -> Option<NonZeroU32> {
    NonZeroU32::new(columns).filter(|columns| columns.get() > 1)
}

/// The headings, to leap to.
fn outline(laid: &Laid) -> Outline {
    let mut outline = Outline::new();
    for (_, words, page, y) in &laid.headings {
        outline.push_child(OutlineNode::new(words.clone(), XyzDestination::new(*page, Point::from_xy(0.0, *y))));
    }
    outline
}
