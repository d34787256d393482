//! Training minutes week by week: a row for each device, a bar for each week.
//!
//! Words first, then the rows, then a table of the weeks with a session. One
//! device is told from another by its own row and its name, by no colour.

use askama::Template;
use askama::filters::HtmlSafe;
use jiff::civil::Date;

use super::told::counted;
use crate::care::gates::Named;
use crate::care::loan::code_of;
use crate::care::progress::minutes::{Minutes, OfDevice, minutes};
use crate::care::track::Track;
use crate::care::training::Session;
use crate::web::part;
use crate::web::picture::{At, Frame, WIDE, wrapped};
use crate::web::training::tell::Devices;
use crate::web::words;

/// Room for the minutes of the upright scale.
const LEFT: f64 = 44.0;
const RIGHT: f64 = WIDE - 6.0;
/// The height of the bars of one row, and of its line of text.
const TALL: f64 = 60.0;
const LINE: f64 = 26.0;
/// How many letters of a heading fit into a line.
const LETTERS: usize = 34;
/// No bar is wider, however few weeks there are.
const WIDEST: f64 = 22.0;

struct Row {
    heading: Vec<(At, String)>,
    most: (At, String),
    foot: At,
    bars: Vec<(At, At, At, At)>,
}

/// The picture with its words.
#[derive(Template)]
#[template(path = "picture/minutes.html")]
pub(in crate::web) struct MinutesPicture {
    frame: Frame,
    rows: Vec<Row>,
    ends: (At, String, String),
}

impl HtmlSafe for MinutesPicture {}

impl MinutesPicture {
    const fn left(&self) -> At {
        At(LEFT)
    }

    const fn right(&self) -> At {
        At(RIGHT)
    }

    const fn beside(&self) -> At {
        At(LEFT - 6.0)
    }
}

/// The minutes of a track; none where no session was held that this reader may read.
pub(in crate::web) fn view(track: Track, sessions: &[Session], devices: &Devices) -> Option<MinutesPicture> {
    let same = |named: Named| devices.known(named).map_or_else(|| code_of(named), str::to_owned);
    let found = minutes(track, sessions, same)?;
    let most =
        found.devices.iter().flat_map(|one| one.weeks.values()).map(|held| held.minutes).max().unwrap_or(1).max(1);
    let week = (RIGHT - LEFT) / found.number.max(1) as f64;
    let mut rows = Vec::new();
    let mut top = 0.0;
    for device in &found.devices {
        let row = row(&found, device, (devices, most, week), top);
        top = row.foot.0 + 16.0;
        rows.push(row);
    }
    let frame = Frame {
        id: "training-minutes",
        title: format!("Training minutes, {} track, week by week", track.words()),
        description: format!(
            "A row for each device, a bar for each week; the tallest is {most} minutes. The table has every week with a session."
        ),
        height: At(top + LINE),
        caption: sentence(&found),
        table: table(track, &found, devices),
    };
    let short = |day: Date| day.strftime("%-d %b").to_string();
    let ends = (At(top + LINE - 8.0), short(found.weeks.0), short(found.weeks.1));
    Some(MinutesPicture { frame, rows, ends })
}

fn row(found: &Minutes, device: &OfDevice, (devices, most, week): (&Devices, i64, f64), top: f64) -> Row {
    let sum = device.sum();
    let heading: Vec<(At, String)> =
        wrapped(&format!("{}: {} min", devices.words(device.device), sum.minutes), LETTERS)
            .into_iter()
            .enumerate()
            .map(|(place, words)| (At(top + LINE * (place as f64 + 1.0) - 8.0), words))
            .collect();
    let foot = top + LINE * (heading.len() as f64) + TALL;
    let wide = (week * 0.7).min(WIDEST);
    let bars = device.weeks.iter().map(|(monday, held)| {
        let weeks = found.weeks.0.until(*monday).map_or(0, |span| span.get_days() / 7);
        let tall = TALL * held.minutes as f64 / most as f64;
        let x = LEFT + week * (f64::from(weeks) + 0.5) - wide / 2.0;
        (At(x), At(foot - tall), At(wide), At(tall))
    });
    Row { heading, most: (At(foot - TALL + 12.0), most.to_string()), foot: At(foot), bars: bars.collect() }
}

fn sentence(found: &Minutes) -> String {
    let sum = found.sum();
    let weeks = usize::try_from(found.number).unwrap_or(usize::MAX);
    let empty = match found.empty_weeks() {
        0 => String::new(),
        1 => " One week had no session.".to_owned(),
        many => format!(" {many} weeks had no session."),
    };
    let refused = match found.refused {
        0 => String::new(),
        1 => " One session was refused and is not counted.".to_owned(),
        many => format!(" {many} sessions were refused and are not counted."),
    };
    format!(
        "{} minutes in {} over {}, from the week of {} to that of {}.{empty}{refused}",
        sum.minutes,
        counted(sum.sessions as usize, "session", "sessions"),
        counted(weeks, "week", "weeks"),
        words::date(found.weeks.0),
        words::date(found.weeks.1),
    )
}

fn table(track: Track, found: &Minutes, devices: &Devices) -> part::Table {
    let mut table = part::table(&format!("Training minutes by week, {} track", track.words()))
        .column("Week from Monday")
        .column("Device")
        .number("Sessions")
        .number("Minutes");
    let mut rows: Vec<(Date, &OfDevice)> =
        found.devices.iter().flat_map(|one| one.weeks.keys().map(move |monday| (*monday, one))).collect();
    rows.sort_by_key(|(monday, _)| *monday);
    for (monday, device) in rows {
        let held = device.weeks.get(&monday).copied().unwrap_or_default();
        table.push([
            words::date(monday),
            devices.words(device.device),
            held.sessions.to_string(),
            held.minutes.to_string(),
        ]);
    }
    table
}
