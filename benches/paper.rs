//! How long does a summary of three pages with two pictures take, and how much memory?
//!
//! The budget is 150 ms warm and 64 MB more than before. Prints the median of several
//! rounds, the first round, the size, and how far the resident memory rose; judged by
//! people, on a machine that does nothing else. Beside it a record of what went across
//! with all 500 lines that its page shows, in large print.

use std::time::Instant;

use farpoint::pdf::model::{Block, Figure, Head, Table, Text};
use farpoint::pdf::{Document, Room, Sheet, Size, pages, write};

type Outcome<T> = Result<T, Box<dyn std::error::Error>>;

const ROUNDS: usize = 21;

/// A curve with its marks and labels, as large as the pictures of the pages.
fn picture(round: usize) -> Figure {
    let mut svg = String::from("<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 360 240\">");
    for tick in 0..6 {
        let y = 200 - tick * 30;
        svg.push_str(&format!("<path class=\"hair\" d=\"M40 {y}H350\"/><text x=\"4\" y=\"{y}\">{tick}.0</text>"));
    }
    for day in 0..24_usize {
        let (x, y) = (50 + day * 12, 190 - (day * 7 + round) % 140);
        svg.push_str(&format!(
            "<path class=\"ink\" d=\"M{x} {}V{}\"/><circle class=\"full\" cx=\"{x}\" cy=\"{y}\" r=\"4\"/>",
            y - 12,
            y + 12
        ));
    }
    svg.push_str("<text class=\"strong\" x=\"50\" y=\"225\">September to November</text></svg>");
    Figure { svg, alternative: "Found of shown, session by session. It rises.".to_owned() }
}

/// Three pages; each round says something else, so that nothing is drawn twice.
fn summary(round: usize) -> Document {
    let mut blocks = vec![
        Block::Heading(1, Text::of("Training summary, distance track")),
        Block::Facts(vec![
            (Text::of("Days"), Text::of("1 September to 26 November 2026")),
            (Text::of("Sessions"), Text::of(&format!("{}", 20 + round))),
        ]),
        Block::Heading(2, Text::of("Figures")),
        Block::Figure(picture(round)),
        Block::Heading(2, Text::of("Session by session")),
    ];
    let heads = ["Date", "Device", "Tried", "Right"];
    let mut table = Table { caption: Text::of("Spotting"), ..Table::default() };
    for (at, head) in heads.iter().enumerate() {
        table.heads.push(Head { words: Text::of(head), number: at > 1 });
    }
    for day in 0..22 {
        let cells = [
            format!("{} September 2026", day + 1),
            "Telescope 6 \u{d7} 16".to_owned(),
            "12".to_owned(),
            format!("{}", (day + round) % 12),
        ];
        table.rows.push(cells.iter().map(|cell| Text::of(cell)).collect());
    }
    blocks.push(Block::Table(table));
    blocks.push(Block::Figure(picture(round + 5)));
    for part in 0..4 {
        let words = format!(
            "Account {part} of round {round}. She finds the board from the second row in most trials, and stays on the line of writing without losing it. "
        );
        blocks.push(Block::Paragraph(Text::of(&words.repeat(4))));
    }
    Document {
        title: "Training summary, L.H.".to_owned(),
        language: "en".to_owned(),
        foot: "Training summary, L.H. Printed on 26 November 2026".to_owned(),
        stamp: None,
        blocks,
        size: Size::Standard,
        sheet: Sheet::A4,
        room: Room::Open,
        picture_style: "text { font-size: 14px } .hair, .ink { stroke: #000; fill: none } .strong { font-weight: 700 }"
            .to_owned(),
    }
}

/// What went across, line by line.
fn went_across(lines: usize) -> Document {
    let heads = ["When", "What", "To whom", "How and on which ground"];
    let mut table = Table { caption: Text::of("What went across"), ..Table::default() };
    table.heads = heads.iter().map(|head| Head { words: Text::of(head), number: false }).collect();
    for line in 0..lines {
        let cells = [
            format!("{} November 2026, {:02}:{:02}", 1 + line % 28, 8 + line % 9, line % 60),
            "Decisions and prescription".to_owned(),
            "Invented Person (Low Vision Clinic, clinic)".to_owned(),
            "Read on screen: consent".to_owned(),
        ];
        table.rows.push(cells.iter().map(|cell| Text::of(cell)).collect());
    }
    let blocks = vec![Block::Heading(1, Text::of("What went across")), Block::Table(table)];
    Document { blocks, size: Size::Large, ..summary(0) }
}

/// A line of what the system says of this program, in MB; nothing where it says nothing.
fn memory(line: &str) -> Option<f64> {
    let told = std::fs::read_to_string("/proc/self/status").ok()?;
    let found = told.lines().find(|one| one.starts_with(line))?;
    let kibibytes: f64 = found.split_whitespace().nth(1)?.parse().ok()?;
    Some(kibibytes / 1024.0)
}

fn main() -> Outcome<()> {
    let before = memory("VmRSS:");
    let begun = Instant::now();
    let first = write(&summary(0))?;
    let cold = begun.elapsed();
    let mut times = Vec::with_capacity(ROUNDS);
    for round in 1..=ROUNDS {
        let document = summary(round);
        if pages(&document)? != 3 {
            return Err("the summary is not three pages long".into());
        }
        let begun = Instant::now();
        std::hint::black_box(write(&document)?);
        times.push(begun.elapsed());
    }
    times.sort();
    println!("three pages, two pictures, {} bytes", first.len());
    println!(
        "first {:.1} ms, warm {:.1} ms (budget 150 ms)",
        cold.as_secs_f64() * 1e3,
        times[ROUNDS / 2].as_secs_f64() * 1e3
    );
    match (before, memory("VmHWM:")) {
        (Some(before), Some(peak)) => println!("memory {:.1} MB more at its peak (budget 64 MB)", peak - before),
        _ => println!("memory: this system does not say"),
    }
    let document = went_across(500);
    let begun = Instant::now();
    let written = write(&document)?;
    println!(
        "500 lines of what went across: {} pages, {:.1} ms, {} bytes",
        pages(&document)?,
        begun.elapsed().as_secs_f64() * 1e3,
        written.len()
    );
    Ok(())
}
