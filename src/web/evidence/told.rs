//! Findings in words: thresholds, what a device gives, where settings disagree.
//!
//! A specialist reads the figure with its interval and what it rests on, a
//! family the same finding as what can be read from where. Nothing is told as
//! known that the rule for telling does not allow; then it says what would be
//! enough.

use super::super::part::{self, Table};
use super::super::{guidance, words};
use super::asked::Lines;
use super::{FindingView, Track, TrackView};
use crate::care::evidence::{Apart, Contrast, Gain, Left, Row};
use crate::care::observation::Setting;
use crate::care::track;
use crate::vision::acuity::LogMar;
use crate::vision::acuity::equivalents::equivalents;
use crate::vision::demand::letter_height;
use crate::vision::length::shown::{Units, letter_height as height_words};
use crate::vision::stats::Enough;
use crate::vision::stats::better::Band;
use crate::vision::stats::everyday::gain::{Basis, Verdict};
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
            findings: self.rows.iter().map(|row| self.finding(row)).collect(),
            picture: self.drawn(),
            thresholds,
            gains_title: if self.plain() { "With a device and without" } else { "What each device gives" },
            gains,
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

    /// One threshold in words.
    fn finding(&self, row: &Row) -> FindingView {
        let who =
            format!("{}{}, {}", words::capital(at(row.setting)), at_contrast(row.contrast), self.with(row.column));
        let found = &row.threshold;
        let rests = behind_words(&found.behind);
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
        FindingView { words, links: vec![(self.behind(row), "The entries behind it".to_owned())], more: Vec::new() }
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

    /// What each telescope gives; to a family only whether smaller things are seen.
    fn gains_told(&self, lines: &mut Lines) -> Vec<FindingView> {
        let mut told: Vec<FindingView> = Vec::new();
        if !self.plain() {
            told.extend(self.gains.iter().map(|gain| self.gain(gain, lines)));
        }
        for one in &self.overall {
            let (first, second) = (self.with(one.columns.0), self.with(one.columns.1));
            let contrast = at_contrast(one.contrast);
            let words = match one.band {
                None => {
                    let wants = if one.enough.0.is_met() { &one.enough.1 } else { &one.enough.0 };
                    let whose = if one.enough.0.is_met() { &second } else { &first };
                    format!(
                        "Whether smaller things{contrast} are seen {second} than {first}: not enough yet. {} it would take {}.",
                        words::capital(whose),
                        lacking(wants)
                    )
                }
                Some(band) => {
                    let (share, regular) = percent(one.second_better);
                    if regular && !self.plain() {
                        let name = |line: usize| self.gathered.lines[line].name.clone();
                        lines.gives(format!("second_better:{}|{}", name(one.lines.0), name(one.lines.1)), &share);
                    }
                    let figure = if self.plain() { String::new() } else { format!(" ({share})") };
                    match band {
                        Band::Likely | Band::Rather => format!(
                            "Over all settings, smaller things{contrast} are {} seen {second} than {first}{figure}.",
                            if band == Band::Likely { "very likely" } else { "likely" },
                        ),
                        Band::Unclear => format!(
                            "Over all settings, no clear difference yet between looking {first} and {second}{figure}."
                        ),
                        Band::RatherNot | Band::Unlikely => format!(
                            "Over all settings, smaller things{contrast} are {} seen {first} than {second}{}.",
                            if band == Band::Unlikely { "very likely" } else { "likely" },
                            if self.plain() { String::new() } else { format!(" ({share} for {second})") },
                        ),
                    }
                }
            };
            told.push(FindingView { words, links: Vec::new(), more: Vec::new() });
        }
        told
    }

    fn gain(&self, gain: &Gain, lines: &mut Lines) -> FindingView {
        let found = &gain.effective;
        let place = gain.setting.map_or("over different settings", at);
        let device = self.device(gain.column);
        let contrast = at_contrast(gain.contrast);
        if let Verdict::NotYet(without, with) = &found.verdict {
            let (what, wants) = if with.is_met() { ("without a device", without) } else { ("with it", with) };
            let words = format!(
                "The {device} {place}{contrast}: not enough yet to say what it gives. Behind it: {} without, {} with. It would take, {what}, {}.",
                counted(found.behind.0.observations, "entry", "entries"),
                counted(found.behind.1.observations, "entry", "entries"),
                lacking(wants)
            );
            return FindingView { words, links: self.links(gain), more: Vec::new() };
        }
        let times = |value: f64| format!("{value:.1}\u{d7}");
        let (middle, low, high) = (times(found.median.get()), times(found.interval.low), times(found.interval.high));
        let pair = match gain.setting {
            Some(_) => format!("{}|{}", self.cell_name(gain.at.0), self.cell_name(gain.at.1)),
            None => {
                let name = |cell: crate::vision::stats::everyday::Cell| self.gathered.lines[cell.device].name.clone();
                format!("{}|{}", name(gain.at.0), name(gain.at.1))
            }
        };
        lines.gives(format!("gain_q50:{pair}"), &middle);
        lines.interval(("gain_q05", "gain_q95"), &pair, (&low, &high));
        let (share, regular) = percent(found.delivers);
        if regular {
            lines.gives(format!("delivers:{pair}"), &share);
        }
        let verdict = match found.verdict {
            Verdict::Delivers => "it gives what is printed on it",
            Verdict::FallsShort => "it falls short of what is printed on it",
            Verdict::CannotTell | Verdict::NotYet(..) => "whether it gives what is printed on it cannot be told yet",
        };
        let basis = match found.basis {
            Basis::OneSetting => "",
            Basis::OverSettings => " It was never seen in one setting with and without, so the interval is wider.",
        };
        let words = format!(
            "The {device} {place}{contrast}: {middle} finer detail ({low} to {high}, 90 %), of {}\u{d7} printed on it; {verdict} (at least 0.8 of it: {share}). {} without, {} with.{basis}",
            gain.power.get(),
            counted(found.behind.0.observations, "entry", "entries"),
            counted(found.behind.1.observations, "entry", "entries"),
        );
        let more = gain.causes.iter().map(|cause| cause.words().to_owned()).collect();
        FindingView { words, links: self.links(gain), more }
    }

    fn links(&self, gain: &Gain) -> Vec<(String, String)> {
        let of = |cell, words: &str| {
            let row = self.rows.iter().find(|row| row.at == cell)?;
            Some((self.behind(row), words.to_owned()))
        };
        [of(gain.at.0, "The entries without it"), of(gain.at.1, "The entries with it")].into_iter().flatten().collect()
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
    fn not_out(&self) -> Option<Table> {
        let gathered = &self.gathered;
        if gathered.not_out.is_empty() && gathered.reasons.is_empty() && gathered.refused_sessions == 0 {
            return None;
        }
        let caption = if self.near() { "Near devices that stayed away" } else { "Distance devices that stayed away" };
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
        Some(table)
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
