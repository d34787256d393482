//! The board to scale with the looks on it, and one look enlarged.
//!
//! Letters are strokes of our own on a grid of 12 units for the height of a
//! small letter, as wide as tall with the gap behind them, so that a drawing
//! shows as many letters as the words say. Fonts differ in that; strokes do not.
//! Nothing is computed here but places on paper.

use askama::Template;
use askama::filters::HtmlSafe;

use crate::care::through::{Seen, View};
use crate::vision::telescope::outline::Outline;
use crate::vision::telescope::sweep::Sweep;
use crate::vision::units::Metres;
use crate::web::part::Table;
use crate::web::picture::{At, Frame, WIDE};

/// The height of a small letter, and the width of one with its gap.
const GRID: f64 = 12.0;
/// Free at both sides.
const MARGIN: f64 = 8.0;
/// The room that a line of text needs on a narrow page.
const LINE: f64 = 24.0;
/// The most that an enlarged look may be high.
const TALLEST: f64 = 240.0;
/// No more looks than this are drawn one by one.
pub(super) const MOST_DRAWN: usize = 60;

/// One small letter: where the pen starts, and what it does from there.
type Strokes = (f64, f64, &'static str);

const A: Strokes = (6.0, -1.0, "a3.8 5 0 1 0 0 -10a3.8 5 0 1 0 0 10zm3.8 -11v12");
const D: Strokes = (6.0, -1.0, "a3.8 5 0 1 0 0 -10a3.8 5 0 1 0 0 10zm3.8 -17v18");
const E: Strokes = (2.2, -6.0, "h7.6a3.8 5 0 1 0 -1.6 4.1");
const I: Strokes = (6.0, -12.0, "v12m0 -17v2");
const N: Strokes = (2.2, -12.0, "v12m0 -7a3.8 4 0 0 1 7.6 0v7");
const O: Strokes = (6.0, -1.0, "a3.8 5 0 1 0 0 -10a3.8 5 0 1 0 0 10z");
const R: Strokes = (3.5, -12.0, "v12m0 -7a4 4 0 0 1 5.5 -3.6");
const S: Strokes =
    (9.0, -9.2, "c-.8 -1.2 -1.8 -1.8 -3.2 -1.8c-4.4 0 -4.4 4.4 0 5c4.6 .6 4.6 5 0 5c-1.6 0 -2.8 -.7 -3.4 -1.9");
const T: Strokes = (5.5, -15.0, "v11.5c0 1.8 1 2.5 3.5 2.5m-6.5 -10h6");
const W: Strokes = (1.8, -12.0, "l2.1 11l2.1 -9l2.1 9l2.1 -11");

/// "rain and snow are water too", over and over.
const WORDS: [&[Strokes]; 6] = [&[R, A, I, N], &[A, N, D], &[S, N, O, W], &[A, R, E], &[W, A, T, E, R], &[T, O, O]];

/// A word placed on a line: which, and where.
pub(super) struct Placed {
    word: usize,
    x: At,
    y: At,
}

/// An ellipse on paper.
pub(super) struct Oval {
    x: At,
    y: At,
    across: At,
    up: At,
}

/// A label with the place of its middle.
pub(super) struct Label {
    x: At,
    y: At,
    words: String,
}

/// The board with its looks.
pub(super) struct BoardDrawn {
    left: At,
    right: At,
    top: At,
    bottom: At,
    first: Oval,
    others: Vec<Oval>,
    numbers: Vec<Label>,
    ticks: Vec<(At, At)>,
    path: Option<(At, At)>,
    path_at: At,
    words: Vec<Placed>,
    scale: Scale,
    width: Label,
}

/// One look, enlarged.
pub(super) struct LookDrawn {
    heading: Label,
    oval: Oval,
    words: Vec<Placed>,
    scale: Scale,
    width: Label,
}

/// How many units of paper one unit of the letters' grid is, to four decimals.
pub(super) struct Scale(f64);

impl std::fmt::Display for Scale {
    fn fmt(&self, out: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(out, "{:.4}", self.0)
    }
}

/// The picture.
#[derive(Template)]
#[template(path = "picture/through.html")]
pub(super) struct Drawing {
    frame: Frame,
    letters: Vec<String>,
    board: Option<BoardDrawn>,
    look: LookDrawn,
}

impl HtmlSafe for Drawing {}

/// What the picture says in words.
pub(super) struct Words {
    pub(super) title: String,
    pub(super) description: String,
    pub(super) caption: String,
    pub(super) board: String,
    pub(super) look: String,
    pub(super) width: String,
    pub(super) table: Table,
}

/// The picture of a view.
pub(super) fn of(view: &View, words: Words) -> Drawing {
    let mut below = 0.0;
    let mut board = None;
    let outline = match &view.seen {
        Seen::Board { width, sweep, middle } => {
            if sweep.looks.len() <= MOST_DRAWN {
                let drawn = on_board(*width, sweep, view.height, words.board);
                below = drawn.width.y.0 + 12.0;
                board = Some(drawn);
            }
            *middle
        }
        Seen::Spot(outline) => *outline,
        Seen::Page(strip) => {
            let half = Metres::new(strip.get() / 2.0).unwrap_or(*strip);
            let zero = Metres::literal(0.0);
            Outline { looked_at: zero, middle: zero, half_width: half, half_height: half }
        }
    };
    let look = one_look(outline, view.height, below, (words.look, words.width));
    let height = At(look.width.y.0 + 10.0);
    let frame = Frame {
        id: "through",
        title: words.title,
        description: words.description,
        height,
        caption: words.caption,
        table: words.table,
    };
    Drawing { frame, letters: WORDS.iter().map(|word| strokes(word)).collect(), board, look }
}

/// A word as one path, its first letter at the origin.
fn strokes(word: &[Strokes]) -> String {
    let mut path = String::new();
    let mut x = 0.0;
    for (right, down, rest) in word {
        path.push_str(&format!("M{} {}{rest}", At(x + right), At(*down)));
        x += GRID;
    }
    path
}

/// Whole words on a line of so many letters; those that only begin on it, too,
/// where the edge cuts them off as an eyepiece does.
fn line(from: f64, y: f64, letter: f64, room: f64, edge: Edge) -> Vec<Placed> {
    let mut placed = Vec::new();
    let mut at = 0.0;
    for word in (0..WORDS.len()).cycle() {
        let long = WORDS[word].len() as f64 * letter;
        let fits = match edge {
            Edge::Keeps => at + long <= room + 1e-9,
            Edge::Cuts => at < room,
        };
        // A letter of no height that can be drawn would never fill a line.
        if !fits || placed.len() >= 600 {
            return placed;
        }
        placed.push(Placed { word, x: At(from + at), y: At(y) });
        at += long + letter;
    }
    placed
}

/// What the end of a line does to a word.
#[derive(Clone, Copy)]
enum Edge {
    Keeps,
    Cuts,
}

fn on_board(width: Metres, sweep: &Sweep, height: Option<Metres>, told: String) -> BoardDrawn {
    // On paper everything is measured from the left edge of the board.
    let along = |place: Metres| place.get() + sweep.ahead.get();
    let ends = sweep.looks.iter().flat_map(|look| [along(look.shown.left()), along(look.shown.right())]);
    let (mut low, mut high) = (0.0_f64, width.get());
    for end in ends {
        low = low.min(end);
        high = high.max(end);
    }
    let scale = (WIDE - 2.0 * MARGIN) / (high - low);
    let x = |metres: f64| MARGIN + (metres - low) * scale;
    let tallest = sweep.looks.iter().map(|look| look.shown.half_height.get()).fold(0.0, f64::max) * scale;
    let letter = height.map_or(0.0, |tall| tall.get() * scale);
    let half = tallest.max(letter).max(8.0) + 6.0;
    let path_at = LINE + 4.0;
    let top = path_at + 10.0;
    let middle = top + half;
    let mut ovals = sweep.looks.iter().map(|look| Oval {
        x: At(x(along(look.shown.middle))),
        y: At(middle),
        across: At(look.shown.half_width.get() * scale),
        up: At(look.shown.half_height.get() * scale),
    });
    let first = ovals.next().unwrap_or(Oval { x: At(0.0), y: At(middle), across: At(0.0), up: At(0.0) });
    let others: Vec<Oval> = ovals.collect();
    let places: Vec<f64> = std::iter::once(first.x.0).chain(others.iter().map(|oval| oval.x.0)).collect();
    BoardDrawn {
        left: At(x(0.0)),
        right: At(x(width.get())),
        top: At(top),
        bottom: At(middle + half),
        numbers: numbered(&places),
        ticks: places.iter().map(|place| (At(*place), At(middle - tallest.min(half)))).collect(),
        path: places.first().zip(places.last()).filter(|_| places.len() > 1).map(|(from, to)| (At(*from), At(*to))),
        path_at: At(path_at),
        words: match height {
            Some(_) => line(x(0.0), middle + letter / 2.0, letter, width.get() * scale, Edge::Keeps),
            None => Vec::new(),
        },
        scale: Scale(letter / GRID),
        width: Label { x: At(WIDE / 2.0), y: At(middle + half + LINE), words: told },
        first,
        others,
    }
}

/// Numbers over the looks, left out where they would run into each other; the
/// first and the last always stand.
fn numbered(places: &[f64]) -> Vec<Label> {
    let mut labels: Vec<(usize, f64)> = Vec::new();
    let last = places.len().saturating_sub(1);
    for (index, place) in places.iter().enumerate() {
        let free = labels.last().is_none_or(|(_, before)| place - before >= LINE);
        let room_for_the_last = index == last || places[last] - place >= LINE;
        if index == 0 || (free && room_for_the_last) {
            labels.push((index, *place));
        }
    }
    labels.into_iter().map(|(index, x)| Label { x: At(x), y: At(LINE - 6.0), words: (index + 1).to_string() }).collect()
}

fn one_look(outline: Outline, height: Option<Metres>, below: f64, (heading, width): (String, String)) -> LookDrawn {
    let (a, b) = (outline.half_width.get(), outline.half_height.get());
    let scale = ((WIDE - 2.0 * MARGIN) / 2.0 / a).min(TALLEST / 2.0 / b);
    let (middle, top) = (WIDE / 2.0, below + LINE + 8.0);
    let y = top + b * scale;
    let letter = height.map_or(0.0, |tall| tall.get() * scale);
    LookDrawn {
        heading: Label { x: At(middle), y: At(below + LINE - 6.0), words: heading },
        oval: Oval { x: At(middle), y: At(y), across: At(a * scale), up: At(b * scale) },
        words: match height {
            Some(_) => line(middle - a * scale, y + letter / 2.0, letter, 2.0 * a * scale, Edge::Cuts),
            None => Vec::new(),
        },
        scale: Scale(letter / GRID),
        width: Label { x: At(middle), y: At(y + b * scale + LINE), words: width },
    }
}
