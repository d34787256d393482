//! Findings in words: thresholds, where settings disagree, what stands apart.
//!
//! A specialist reads the figure with its interval and what it rests on, a
//! family the same finding as what can be read from where. Nothing is told as
//! known that the rule for telling does not allow; then it says what would be
//! enough.

use super::super::part::{self, Table};
use super::super::{guidance, words};
use super::asked::Lines;
use super::{FindingView, Findings, Track, TrackView};
use crate::care::evidence::{Apart, Contrast, Left, Row};
use crate::care::observation::Setting;
use crate::care::track;
use crate::vision::acuity::LogMar;
use crate::vision::acuity::equivalents::equivalents;
use crate::vision::demand::letter_height;
use crate::vision::length::shown::{Units, letter_height as height_words};
use crate::vision::stats::Enough;
use crate::vision::stats::better::Band;
use crate::vision::stats::everyday::settings::FALSE_ALARMS;
use crate::vision::stats::everyday::threshold::Telling;
use crate::vision::stats::everyday::{Behind, print_of};
use crate::vision::units::{Arcminutes, Metres};

/// A probability as it is printed; none for one so near an end that two digits
/// would say too much.
pub(super) fn percent(share: f64) -> (String, bool) {
    match share {
        share if share > 0.99 => ("more than 99 %".to_owned(), false),
        share if share < 0.01 => ("less than 1 %".to_owned(), false),
        share => (format!("{:.0} %", (100.0 * share).round()), true),
    }
}

/// The band of a probability in a word.
pub(super) const fn band_words(band: Band) -> &'static str {
    match band {
        Band::Likely => "very likely",
        Band::Rather => "likely",
        Band::Unclear => "could go either way",
        Band::RatherNot => "unlikely",
        Band::Unlikely => "very unlikely",
    }
}

/// Where, for the middle of a sentence.
pub(super) const fn at(setting: Setting) -> &'static str {
    match setting {
        Setting::Classroom => "in class",
        Setting::Home => "at home",
        Setting::Community => "in the community",
        Setting::Training => "in training",
    }
}

/// What is said of the contrast, behind what it is said of.
pub(super) const fn at_contrast(contrast: Contrast) -> &'static str {
    match contrast {
        Contrast::High => "",
        Contrast::Lower => ", of lower contrast",
    }
}

/// How many of one thing.
pub(super) fn counted(number: usize, one: &str, many: &str) -> String {
    if number == 1 { format!("1 {one}") } else { format!("{number} {many}") }
}

/// How much lies behind a figure.
pub(super) fn behind_words(behind: &Behind) -> String {
    format!(
        "{}, {}, {}",
        counted(behind.observations, "entry", "entries"),
        counted(behind.sessions, "session", "sessions"),
        counted(behind.items, "item", "items")
    )
}

/// What would be enough, in words; nothing where it is.
pub(super) fn lacking(enough: &Enough) -> String {
    let Enough::NotYet(all) = enough else { return String::new() };
    let mut told: Vec<String> = Vec::new();
    for one in all {
        let more = one.needed.saturating_sub(one.given);
        let words = match one.what {
            "observations" => counted(more, "more entry", "more entries"),
            "sessions" => counted(more, "more day or observer", "more days or observers"),
            "items tried" => counted(more, "more item", "more items"),
            "sizes of which most was read" => "a size of which most is read".to_owned(),
            "sizes of which at most half was read" => "a size so small that at most half is read".to_owned(),
            _ => "two sizes, one read and one not".to_owned(),
        };
        if !told.contains(&words) {
            told.push(words);
        }
    }
    words::list(&told)
}

impl Track<'_> {
    pub(super) const fn near(&self) -> bool {
        matches!(self.gathered.track, track::Track::Near)
    }

    /// A device in the middle of a sentence: "the lent 6× telescope".
    pub(super) fn device(&self, column: usize) -> String {
        let Some(device) = self.column(column).and_then(|column| column.device.as_ref()) else {
            return "no device".to_owned();
        };
        let Some(in_hand) = device.in_hand() else {
            return format!("a device first used on {}", words::date(device.from));
        };
        let name = |place: usize| {
            let in_hand = self.column(place).and_then(|column| column.device.as_ref()?.in_hand());
            in_hand.map(|one| guidance::named(&one, self.plain()))
        };
        let named = guidance::named(&in_hand, self.plain());
        let alike = (1..self.gathered.columns.len()).filter(|other| name(*other).as_ref() == Some(&named)).count();
        if alike > 1 { format!("{named} of {}", words::date(device.from)) } else { named }
    }

    /// "with the lent 6× telescope" or "without a device".
    pub(super) fn with(&self, column: usize) -> String {
        if column == 0 { "without a device".to_owned() } else { format!("with the {}", self.device(column)) }
    }

    /// How tall small letters are at this place of the axis: from the usual seat,
    /// or as print.
    pub(super) fn tall(&self, size: LogMar) -> Option<Metres> {
        if self.near() {
            return Some(print_of(size).ok()?.height().ok()?.in_metres());
        }
        let detail = Arcminutes::new(size.mar_arcminutes()).ok()?;
        letter_height(detail, self.gathered.usual?).ok().map(|letter| letter.height)
    }

    /// The same in the reader's units; print in millimetres.
    pub(super) fn tall_words(&self, size: LogMar) -> String {
        let units = if self.near() { Units::Metric } else { words::units(self.context) };
        self.tall(size).map_or_else(String::new, |tall| height_words(tall, units))
    }

    /// The place on the axis for a specialist: logMAR and its fraction, or M units.
    pub(super) fn figure(&self, size: LogMar) -> String {
        if self.near() {
            return print_of(size).map_or_else(|_| String::new(), |print| format!("{:.2} M", print.get()));
        }
        format!("{:.2}", size.get())
    }

    /// The same as a fraction over 20 feet or 6 metres.
    pub(super) fn fraction(&self, size: LogMar) -> String {
        let same = equivalents(size);
        if self.context.imperial() { same.feet } else { same.metres }
    }

    fn seat(&self) -> String {
        match self.gathered.usual {
            Some(usual) if !self.near() => format!(" from {}", words::distance(usual, self.context)),
            _ => String::new(),
        }
    }

    /// The whole track.
    pub(super) fn view(&self) -> TrackView {
        let mut lines = Lines::default();
        let thresholds = self.thresholds(&mut lines);
        let gains = self.gains_told(&mut lines);
        let matrix = self.matrix_view(&mut lines);
        let (apart, asked_pairs) = self.apart(&mut lines);
        TrackView {
            id: if self.near() { "near" } else { "distance" },
            title: match (self.near(), self.plain()) {
                (false, false) => "Distance track",
                (true, false) => "Near track",
                (false, true) => "Far away",
                (true, true) => "Print up close",
            }
            .to_owned(),
            findings: Findings::of(self.rows.iter().map(|row| self.finding(row)).collect()),
            picture: self.drawn(),
            thresholds,
            gains_title: if self.plain() { "With a device and without" } else { "What each device gives" },
            gains: Findings::of(gains),
            matrix,
            unsized_tasks: self.without_size(),
            apart,
            asked_pairs,
            counted: self.counted(),
            left: self.left(),
            not_out: self.not_out(),
            how: self.how(lines),
            worked_out: if self.plain() { super::WORKED_OUT } else { &[] },
            cautions: self.cautions(),
        }
    }

    /// What a figure rests on, in the reader's words.
    fn rests(&self, behind: &Behind) -> String {
        if self.plain() { counted(behind.observations, "note", "notes") } else { behind_words(behind) }
    }

    /// One threshold in words, and whether it is told.
    fn finding(&self, row: &Row) -> (bool, FindingView) {
        let who =
            format!("{}{}, {}", words::capital(at(row.setting)), at_contrast(row.contrast), self.with(row.column));
        let found = &row.threshold;
        let rests = self.rests(&found.behind);
        let words = match &found.telling {
            Telling::Measured | Telling::MostlyAssumed => {
                let mostly = match (&found.telling, self.plain()) {
                    (Telling::MostlyAssumed, false) => " It is mostly the clinic\u{2019}s value still.",
                    (Telling::MostlyAssumed, true) => " The notes have not yet added much to what the clinic found.",
                    _ => "",
                };
                format!("{who}: {}. {rests}.{mostly}", self.reads(row))
            }
            Telling::AtLeast(size) => format!(
                "{who}: most of everything tried was read. So at least small letters of {}{} can be read; how much smaller is not known until some are missed. {rests}.",
                self.tall_words(*size),
                self.seat()
            ),
            Telling::MoreThan(size) => format!(
                "{who}: at most half of everything tried was read. So small letters must be taller than {}{}; how much is not known until most of some size is read. {rests}.",
                self.tall_words(*size),
                self.seat()
            ),
            Telling::NotYet(enough) => {
                format!("{who}: not enough yet. {rests} so far. It would take {}.", lacking(enough))
            }
        };
        let link = if self.plain() { "The notes behind it" } else { "The entries behind it" };
        let told = !matches!(found.telling, Telling::NotYet(_));
        (told, FindingView { words, links: vec![(self.behind(row), link.to_owned())], more: Vec::new() })
    }

    fn reads(&self, row: &Row) -> String {
        let needed = &row.needed;
        let between = needed.low.zip(needed.high).map(|(low, high)| (self.tall_words(low), self.tall_words(high)));
        match (needed.median, between) {
            (Some(size), Some((low, high))) => format!(
                "8 of 10 words are read when the small letters are {} tall{} ({low} to {high})",
                self.tall_words(size),
                self.seat()
            ),
            (Some(size), None) => format!(
                "8 of 10 words are read when the small letters are about {} tall{}, and it is open whether they always are",
                self.tall_words(size),
                self.seat()
            ),
            (None, _) => "8 of 10 may be read at no size: some are missed however large they are".to_owned(),
        }
    }

    /// Where settings disagree, in words, and how many pairs were asked about.
    pub(super) fn apart(&self, lines: &mut Lines) -> (Vec<FindingView>, String) {
        let asked = self.apart.iter().filter(|one| one.compared.adjusted.is_some()).count();
        let told = self.apart.iter().filter(|one| one.disagree()).map(|one| self.disagree(one, lines)).collect();
        let words = match asked {
            0 if self.apart.is_empty() => {
                "No device was seen in two settings yet, so there is nothing to compare.".to_owned()
            }
            0 => "No two settings have enough entries yet to be compared.".to_owned(),
            asked => format!(
                "{} of settings compared. When nothing differs, a page says so wrongly in fewer than {:.0} of 100 cases. That no disagreement was seen does not mean there is none.",
                counted(asked, "pair", "pairs"),
                100.0 * FALSE_ALARMS
            ),
        };
        (told, words)
    }

    fn disagree(&self, apart: &Apart, lines: &mut Lines) -> FindingView {
        let (first, second) = apart.settings;
        let mean = apart.compared.apart.as_ref().map_or(0.0, |apart| apart.mean);
        // The one that needs larger letters is named first.
        let (harder, easier) = if mean > 0.0 { (first, second) } else { (second, first) };
        let with = words::capital(&self.with(apart.column));
        let what = if self.near() { "print" } else { "letters" };
        let words = if self.plain() {
            format!(
                "{with}, the notes do not fit together: {} {what} had to be larger than {}. Neither is wrong; it is worth finding out why.",
                at(harder),
                at(easier)
            )
        } else {
            let size = format!("{:.2} logMAR", mean.abs());
            let pair = format!("{}|{}", self.cell_name(apart.compared.first), self.cell_name(apart.compared.second));
            if mean > 0.0 {
                lines.gives(format!("settings_apart:{pair}"), &size);
            }
            let p = apart.compared.adjusted.unwrap_or(1.0);
            let told = if p < 0.005 {
                "below 0.01".to_owned()
            } else {
                let told = format!("{p:.2}");
                lines.gives(format!("settings_p:{pair}"), &told);
                told
            };
            format!(
                "{with}, {} and {} disagree: {} the threshold is {size} larger (adjusted p {told}, neither leaning on the other).",
                at(first),
                at(second),
                at(harder),
            )
        };
        let links = [first, second]
            .into_iter()
            .filter_map(|setting| {
                let same =
                    |row: &&Row| row.column == apart.column && row.contrast == apart.contrast && row.setting == setting;
                let row = self.rows.iter().find(same)?;
                Some((self.behind(row), format!("The entries {}", at(setting))))
            })
            .collect();
        let more = vec![
            "To look at: the light and glare there, the distance really used, other words or pictures, another adult, and who prompted. It does not say which setting is right.".to_owned(),
        ];
        FindingView { words, links, more }
    }

    /// How many entries count, in one sentence.
    pub(super) fn counted(&self) -> String {
        let left: usize = self.gathered.left.values().map(Vec::len).sum();
        let counts = counted(self.gathered.counted, "entry counts", "entries count");
        if left == 0 { format!("{counts}.") } else { format!("{counts}, {left} do not and stand apart:") }
    }

    /// The same for a page without the reasons.
    pub(super) fn counted_alone(&self) -> String {
        let left: usize = self.gathered.left.values().map(Vec::len).sum();
        format!("{}, {left} stand apart.", counted(self.gathered.counted, "entry counts", "entries count"))
    }

    /// What does not count, each reason with its number and the entries.
    fn left(&self) -> Vec<(String, String)> {
        let href = |left: &Left| {
            self.visit.at(&format!("/evidence/entries?track={}&left={}", self.gathered.track.code(), left.code()))
        };
        let told = |(left, entries): (&Left, &Vec<_>)| {
            (href(left), format!("{}: {}", words::capital(left.words()), entries.len()))
        };
        self.gathered.left.iter().filter(|(_, entries)| !entries.is_empty()).map(told).collect()
    }

    /// Refusals and non-use, each answer apart; never a failure.
    fn not_out(&self) -> Option<(String, Table)> {
        let gathered = &self.gathered;
        if gathered.not_out.is_empty() && gathered.reasons.is_empty() && gathered.refused_sessions == 0 {
            return None;
        }
        let caption = if self.near() { "Near devices that stayed away" } else { "Distance devices that stayed away" };
        let times = gathered.not_out.values().sum::<usize>() + gathered.refused_sessions;
        let mut table = part::table(caption)
            .note("Each answer apart. A refusal is data, not a failure.")
            .column("Asked")
            .column("Answer")
            .number("Times");
        for (answer, times) in &gathered.not_out {
            table.push(["Device out?".to_owned(), words::capital(answer.words()), times.to_string()]);
        }
        for (reason, times) in &gathered.reasons {
            table.push(["Why not?".to_owned(), words::capital(reason.words()), times.to_string()]);
        }
        if gathered.refused_sessions > 0 {
            table.push([
                "Training".to_owned(),
                "The student refused a session".to_owned(),
                gathered.refused_sessions.to_string(),
            ]);
        }
        Some((format!("{caption}: {}", counted(times, "time", "times")), table))
    }

    fn without_size(&self) -> String {
        let names: Vec<&str> = self
            .gathered
            .unsized_tasks
            .iter()
            .filter_map(|place| self.loaded.tasks.get(*place))
            .map(|task| task.what.name.as_str())
            .collect();
        match names.len() {
            0 => String::new(),
            1 => format!("{} has no size or distance that can be used, so it is not in the table.", names[0]),
            _ => format!(
                "{} have no size or distance that can be used, so they are not in the table.",
                words::list(&names)
            ),
        }
    }
}
