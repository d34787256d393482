//! A story: who opens which page and presses which button, when, with what filled in.
//!
//! Stories are written per student and played together in the order of time. In
//! an address or a field, `{name}` stands for something kept before; a field
//! `@2027-03-09` is a day of the stories' calendar, and `~words` is the choice
//! that a reader knows by these words.

use std::collections::BTreeMap;

use anyhow::Context;
use jiff::civil::Date;

use super::PASSWORD;
use super::calendar::Calendar;
use super::cast::{Cast, Who};
use super::form;
use super::player::{Answer, Scene, invitation};
use super::scan;

/// One act of a story.
pub(super) struct Step {
    story: &'static str,
    day: Date,
    hour: i8,
    who: Who,
    page: String,
    act: Act,
}

enum Act {
    /// Presses a button; keeps where the answer is shown, up to a last part.
    Press { button: &'static str, fields: Vec<(String, String)>, keep: Option<(&'static str, &'static str)> },
    /// Hands in a scanned sheet with these lines, and what else the form asks for.
    Attach { button: &'static str, field: &'static str, fields: Vec<(String, String)>, lines: &'static [&'static str] },
    /// Makes a link for somebody, who joins by it at once, or not yet.
    Invite { fields: Vec<(String, String)>, joins: Option<Who> },
    /// Keeps the first address on the page that holds these letters.
    Find { holds: &'static str, keep: &'static str },
}

/// A story being written.
pub(super) struct Story {
    name: &'static str,
    day: Date,
    hour: i8,
    steps: Vec<Step>,
}

/// What is filled into fields.
pub(super) type Fields<'a> = &'a [(&'a str, &'a str)];

fn owned(fields: Fields<'_>) -> Vec<(String, String)> {
    fields.iter().map(|(name, value)| ((*name).to_owned(), (*value).to_owned())).collect()
}

impl Story {
    pub(super) fn new(name: &'static str) -> Self {
        Self { name, day: Date::ZERO, hour: 0, steps: Vec::new() }
    }

    pub(super) fn finish(self) -> Vec<Step> {
        self.steps
    }

    /// The hour of the day at which the next steps happen.
    pub(super) fn on(&mut self, year: i16, month: i8, day: i8, hour: i8) -> &mut Self {
        self.day = Date::new(year, month, day).unwrap_or(Date::ZERO);
        self.hour = hour;
        self
    }

    fn step(&mut self, who: Who, page: &str, act: Act) -> &mut Self {
        let (story, day, hour) = (self.name, self.day, self.hour);
        self.steps.push(Step { story, day, hour, who, page: page.to_owned(), act });
        self
    }

    /// Presses a button of a page.
    pub(super) fn press(&mut self, who: Who, page: &str, button: &'static str, fields: Fields<'_>) -> &mut Self {
        self.step(who, page, Act::Press { button, fields: owned(fields), keep: None })
    }

    /// Presses a button and keeps the address that it leads to, without a last part.
    pub(super) fn press_keep(
        &mut self,
        who: Who,
        page: &str,
        button: &'static str,
        fields: Fields<'_>,
        keep: (&'static str, &'static str),
    ) -> &mut Self {
        self.step(who, page, Act::Press { button, fields: owned(fields), keep: Some(keep) })
    }

    /// Hands in a scanned sheet on a page that takes a file.
    pub(super) fn attach(
        &mut self,
        who: Who,
        page: &str,
        (button, field): (&'static str, &'static str),
        fields: Fields<'_>,
        lines: &'static [&'static str],
    ) -> &mut Self {
        self.step(who, page, Act::Attach { button, field, fields: owned(fields), lines })
    }

    /// Keeps the first address on a page that holds these letters.
    pub(super) fn find(&mut self, who: Who, page: &str, holds: &'static str, keep: &'static str) -> &mut Self {
        self.step(who, page, Act::Find { holds, keep })
    }

    /// The vision teacher invites somebody, who joins.
    pub(super) fn joins(&mut self, who: Who, role: &str, relation: &str, person: Who) -> &mut Self {
        let fields = owned(&[("role", role), ("invited_name", person.name()), ("relation", relation)]);
        self.step(who, "{S}/people", Act::Invite { fields, joins: Some(person) })
    }

    /// The vision teacher makes a link that nobody has used yet.
    pub(super) fn invites(&mut self, who: Who, role: &str, name: &str) -> &mut Self {
        let fields = owned(&[("role", role), ("invited_name", name)]);
        self.step(who, "{S}/people", Act::Invite { fields, joins: None })
    }

    /// The intake's short steps are marked as finished.
    pub(super) fn finishes_steps(&mut self, who: Who) -> &mut Self {
        for step in ["people", "consent"] {
            self.press(who, &format!("{{S}}/intake/{step}"), "Done with this step", &[]);
        }
        self
    }

    /// How a family is reached.
    pub(super) fn contact(&mut self, who: Who, relation: &str, phone: &str, language: &str) -> &mut Self {
        let fields = [("name", who.name()), ("relation", relation), ("phone", phone), ("language", language)];
        self.press(Who::Marisol, "{S}/people/contacts/new", "Save", &fields)
    }

    /// A parent signs a consent on screen for all that it can name.
    pub(super) fn consents(&mut self, who: Who, way: &'static str, language: &str) -> &mut Self {
        self.consents_with(who, way, language, &[])
    }

    /// The same with something else filled in; categories given here are the only ones.
    pub(super) fn consents_with(&mut self, who: Who, way: &'static str, language: &str, said: Fields<'_>) -> &mut Self {
        let categories: &[&str] = match way {
            "clinic_to_school" => &["evaluation", "prescription"],
            _ => &[
                "contacts",
                "intake",
                "class_observations",
                "home_observations",
                "evaluation",
                "devices",
                "training",
                "summary",
            ],
        };
        let mut fields = vec![("language", language), ("read", "yes"), ("password", PASSWORD)];
        fields.extend(said);
        if said.iter().all(|(name, _)| *name != "categories") {
            fields.extend(categories.iter().map(|category| ("categories", *category)));
        }
        self.press(who, &format!("{{S}}/people/consent/{way}"), "Sign", &fields)
    }

    /// The clinician begins an evaluation.
    pub(super) fn examines(&mut self, due: &str) -> &mut Self {
        let fields = [("next_due_on", due)];
        self.press_keep(Who::Noor, "{S}/evaluations/new", "Begin", &fields, ("exam", "/edit"))
    }

    /// A row of acuity: eye, what was worn, distance, value, and what else there is to say.
    pub(super) fn acuity(&mut self, row: [&str; 4], more: Fields<'_>) -> &mut Self {
        let [eye, correction, distance, value] = row;
        let row = [("eye", eye), ("correction", correction), ("distance", distance), ("value", value)];
        self.press(Who::Noor, "{exam}/edit/acuity", "Add this row", &[&row[..], more].concat())
    }

    /// A section of the evaluation.
    pub(super) fn section(&mut self, section: &str, fields: Fields<'_>) -> &mut Self {
        self.press(Who::Noor, &format!("{{exam}}/edit/{section}"), "Save and go on", fields)
    }

    /// The clinician signs the evaluation.
    pub(super) fn signs_evaluation(&mut self) -> &mut Self {
        self.press(Who::Noor, "{exam}/preview", "Sign the evaluation", &[("password", PASSWORD)])
    }

    /// The vision teacher writes, previews and sends a training summary.
    pub(super) fn summarises(&mut self, track: &str, from: &str, to: &str, texts: Fields<'_>) -> &mut Self {
        let period = [("track", track), ("from", from), ("to", to)];
        self.press_keep(Who::Marisol, "{S}/summaries", "Draft the summary", &period, ("summary", ""));
        self.press(Who::Marisol, "{summary}", "Save the draft", texts);
        self.press(Who::Marisol, "{summary}/preview", "Sign and send", &[("password", PASSWORD)])
    }

    /// The vision teacher writes the classroom card and releases it.
    pub(super) fn card(&mut self, lines: Fields<'_>) -> &mut Self {
        self.press(Who::Marisol, "{S}/card/edit", "Save and preview", lines);
        self.press(Who::Marisol, "{S}/card/preview", "Release it", &[])
    }

    /// The vision teacher writes what to try at home and releases it.
    pub(super) fn suggests_at_home(&mut self, body: &str, task: &str) -> &mut Self {
        self.press(Who::Marisol, "{S}/card/at-home/edit", "Save the draft", &[("body", body), ("task", task)]);
        self.press(Who::Marisol, "{S}/card/at-home", "Release it to the family", &[])
    }

    /// Somebody writes down what the student says.
    pub(super) fn says(&mut self, who: Who, fields: Fields<'_>) -> &mut Self {
        self.press(who, "{S}/thread/words", "Keep these words", fields)
    }

    /// A session of training: what is usual in it, what is said of this one, which
    /// goes before the usual, and its exercises.
    pub(super) fn trains(
        &mut self,
        track: &str,
        usual: Fields<'_>,
        said: Fields<'_>,
        exercises: &[Fields<'_>],
    ) -> &mut Self {
        let unsaid = usual.iter().filter(|(name, _)| said.iter().all(|(other, _)| other != name));
        let setting: Vec<(&str, &str)> = unsaid.chain(said).copied().collect();
        let mut fields = owned(&setting);
        // The form brings these along from the session before.
        if let Some(first) = exercises.first() {
            let unsaid =
                ["task", "distance", "height"].into_iter().filter(|name| first.iter().all(|(said, _)| said != name));
            fields.extend(unsaid.map(|name| (format!("e1_{name}"), String::new())));
        }
        for (number, exercise) in exercises.iter().enumerate() {
            fields
                .extend(exercise.iter().map(|(name, value)| (format!("e{}_{name}", number + 1), (*value).to_owned())));
        }
        let page = format!("{{S}}/training/new?track={track}");
        self.step(Who::Marisol, &page, Act::Press { button: "Save the session", fields, keep: None })
    }

    /// Somebody writes down what was seen.
    pub(super) fn sees(&mut self, who: Who, fields: Fields<'_>) -> &mut Self {
        self.press(who, "{S}/observations/new", "Save", fields)
    }

    /// Somebody writes into the thread, or asks a role.
    pub(super) fn writes(&mut self, who: Who, to: &str, body: &str) -> &mut Self {
        self.press(who, "{S}/thread", "Send", &[("to", to), ("body", body)])
    }

    /// Somebody answers the newest open question.
    pub(super) fn answers(&mut self, who: Who, body: &str) -> &mut Self {
        self.find(who, "{S}/thread", "/answer", "question");
        self.press(who, "{question}", "Send the answer", &[("body", body)])
    }
}

/// What the stories keep for later, by story and name.
#[derive(Default)]
struct Kept(BTreeMap<(&'static str, &'static str), String>);

impl Kept {
    fn filled(&self, story: &str, text: &str) -> String {
        let mut text = text.to_owned();
        for ((of, name), value) in &self.0 {
            if *of == story {
                text = text.replace(&format!("{{{name}}}"), value);
            }
        }
        text
    }
}

/// Plays steps in the order of time.
///
/// # Errors
/// When a page refuses, with what it said.
pub(super) async fn play(
    mut steps: Vec<Step>,
    scene: &mut Scene,
    cast: &Cast,
    calendar: Calendar,
) -> anyhow::Result<()> {
    steps.sort_by_key(|step| (step.day, step.hour));
    let mut kept = Kept::default();
    let (mut hour, mut minute) = (None, 0);
    for step in &steps {
        let now = (step.day, step.hour);
        minute = if hour == Some(now) { (minute + 1).min(59) } else { 0 };
        hour = Some(now);
        scene.at(calendar.instant(step.day, step.hour, minute, cast.zone()));
        one(step, scene, cast, calendar, &mut kept)
            .await
            .with_context(|| format!("the demo's story of {}, {} {}:00", step.story, step.day, step.hour))?;
    }
    Ok(())
}

async fn one(step: &Step, scene: &mut Scene, cast: &Cast, calendar: Calendar, kept: &mut Kept) -> anyhow::Result<()> {
    let page = kept.filled(step.story, &step.page);
    let who = cast.actor(step.who)?;
    let filled = |fields: &'_ [(String, String)], kept: &Kept| -> Vec<(String, String)> {
        let value = |value: &str| match value.strip_prefix('@').and_then(|day| day.parse::<Date>().ok()) {
            Some(day) => calendar.day(day).to_string(),
            None => kept.filled(step.story, value),
        };
        fields.iter().map(|(name, text)| (name.clone(), value(text))).collect()
    };
    match &step.act {
        Act::Press { button, fields, keep } => {
            let fields = filled(fields, kept);
            let fields: Vec<(&str, String)> =
                fields.iter().map(|(name, value)| (name.as_str(), value.clone())).collect();
            let answer = scene.press(who, &page, button, &fields).await?;
            if let (Some((name, without)), Answer::Saved(location)) = (keep, answer) {
                let kept_part = location.strip_suffix(without).unwrap_or(&location).to_owned();
                kept.0.insert((step.story, name), kept_part);
            }
        }
        Act::Attach { button, field, fields, lines } => {
            let fields = filled(fields, kept);
            let fields: Vec<(&str, String)> =
                fields.iter().map(|(name, value)| (name.as_str(), value.clone())).collect();
            scene.attach(who, &page, button, (field, &fields, &scan::pdf(lines))).await?;
        }
        Act::Invite { fields, joins } => {
            let fields: Vec<(&str, String)> =
                fields.iter().map(|(name, value)| (name.as_str(), value.clone())).collect();
            let Answer::Shown(html) = scene.press(who, &page, "Make the link", &fields).await? else {
                anyhow::bail!("{page} did not show the link");
            };
            if let Some(person) = joins {
                scene.press(cast.actor(*person)?, &invitation(&html)?, "Join this team", &[]).await?;
            }
        }
        Act::Find { holds, keep } => {
            let html = scene.open(who, &page).await?;
            let found = form::link(&html, holds).with_context(|| format!("no address with {holds} on {page}"))?;
            kept.0.insert((step.story, keep), found);
        }
    }
    Ok(())
}
