//! The way round for one student on one track, step by step, through pages.
//!
//! [`Team`] is the people; [`Track`] holds what differs between the distance
//! and the near track. Every step is a method that presses the buttons a person
//! would press and leaves the record one stage further; [`Team::up_to`] takes
//! all of them up to one. Both laps as stories, with persons and facts of their
//! own and every figure worked by hand, are in `lap/distance.rs` and
//! `lap/near.rs`, and the way from a report on paper in `lap/paper.rs`.

mod distance;
mod near;
mod opening;
mod paper;

use jiff::SignedDuration;

use crate::people::{PASSWORD, Person};
use crate::world::{Pupil, World};

/// Everybody around one student.
pub(crate) struct Team {
    pub(crate) pupil: Pupil,
    pub(crate) teacher: Person,
    pub(crate) classroom: Person,
    pub(crate) parent: Person,
    pub(crate) clinician: Person,
}

type Fields = &'static [(&'static str, &'static str)];

/// What a lap on one track is made of.
pub(crate) struct Track {
    pub(crate) code: &'static str,
    /// What the student wants to see; its place is filled in at the step.
    task: Fields,
    /// The acuity row of the evaluation that the recommendation rests on.
    acuity: Fields,
    /// The device, part by part, without the prefix of a form.
    pub(crate) device: Fields,
    /// Another device that does not match the recommendation.
    pub(crate) other_device: Fields,
    pub(crate) readiness: &'static [&'static str],
    /// What is looked at at home.
    at_home: &'static str,
}

pub(crate) const DISTANCE: Track = Track {
    code: "distance",
    task: &[
        ("code", "board_words"),
        ("name", "Science board"),
        ("track", "distance"),
        ("goal", "copy"),
        ("x_height", "3.5 cm"),
        ("measured", "yes"),
        ("display", "whiteboard"),
        ("marker", "black_on_white"),
        ("target", "words"),
        ("wanted_by", "the student"),
    ],
    acuity: &[("eye", "right"), ("correction", "best_correction"), ("distance", "10 ft"), ("value", "10/120")],
    device: &[
        ("kind", "handheld_monocular"),
        ("power", "6"),
        ("objective", "16"),
        ("field", "9"),
        ("near_focus", "25 cm"),
        ("glasses", "over"),
        ("eye", "right"),
    ],
    other_device: &[
        ("kind", "handheld_monocular"),
        ("power", "10"),
        ("objective", "25"),
        ("field", "5"),
        ("near_focus", "1 m"),
        ("glasses", "over"),
        ("eye", "right"),
    ],
    readiness: &[
        "parts",
        "strap_and_care",
        "holding_and_bracing",
        "eye_and_glasses",
        "in_focus",
        "large_target",
        "sun_rule",
        "stand_still_rule",
        "agrees_to_try",
    ],
    at_home: "tv",
};

pub(crate) const NEAR: Track = Track {
    code: "near",
    task: &[
        ("code", "textbook"),
        ("name", "Reading book"),
        ("track", "near"),
        ("goal", "phrase"),
        ("distance", "25 cm"),
        ("x_height", "2 mm"),
        ("measured", "yes"),
        ("display", "page"),
        ("target", "words"),
        ("wanted_by", "the student"),
    ],
    acuity: &[("eye", "both"), ("correction", "best_correction"), ("distance", "40 cm"), ("value", "4M @ 40 cm")],
    device: &[("kind", "stand_magnifier"), ("equivalent", "16"), ("lens", "50"), ("light", "battery"), ("eye", "both")],
    other_device: &[
        ("kind", "hand_magnifier"),
        ("equivalent", "6"),
        ("lens", "70"),
        ("light", "none"),
        ("eye", "both"),
    ],
    readiness: &[
        "light_and_care",
        "right_side",
        "focus_distance",
        "eye_and_glasses",
        "sun_and_fire_rule",
        "agrees_to_try",
    ],
    at_home: "comic_or_book",
};

impl Track {
    /// The device that is recommended, part by part.
    pub(crate) fn recommended(&self) -> Fields {
        self.device
    }

    /// The eye that the device is for.
    pub(crate) fn eye(&self) -> &'static str {
        self.device.iter().find(|(part, _)| *part == "eye").map_or("either", |(_, eye)| eye)
    }
}

/// How far a lap went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Step {
    /// The record is open and the team is there.
    Opened,
    /// The intake names something to see.
    TakenIn,
    /// Both consents are in force.
    Consented,
    /// An evaluation is asked for.
    Asked,
    /// It is signed and names a device.
    Evaluated,
    /// The matching device is on loan.
    Lent,
    /// The readiness list is signed.
    Ready,
    /// Three sessions on two days, and what class and family saw.
    Trained,
    /// The summary is with the clinician.
    Sent,
    /// The clinician finalised.
    Decided,
    /// The prescription is signed.
    Prescribed,
    /// The device arrived as prescribed.
    OwnDevice,
}

fn prefixed<'a>(prefix: &str, fields: &'a [(&'a str, &'a str)]) -> Vec<(String, &'a str)> {
    fields.iter().map(|(name, value)| (format!("{prefix}{name}"), *value)).collect()
}

fn borrowed<'a>(fields: &'a [(String, &'a str)]) -> Vec<(&'a str, &'a str)> {
    fields.iter().map(|(name, value)| (name.as_str(), *value)).collect()
}

impl Team {
    /// A vision teacher opens a record and everybody joins by a link.
    pub(crate) async fn around_a_student(world: &World) -> Self {
        let teacher = world.vision_teacher().await;
        let pupil = world.student_of(&teacher).await;
        let (classroom, parent) = (world.classroom_teacher().await, world.parent().await);
        let clinician = world.clinician().await;
        for person in [&classroom, &parent, &clinician] {
            world.joins(person, &pupil, &teacher).await;
        }
        Self { pupil, teacher, classroom, parent, clinician }
    }

    /// A team whose student went round as far as this step, and no farther.
    pub(crate) async fn up_to(world: &World, track: &Track, step: Step) -> Self {
        let team = Self::around_a_student(world).await;
        for next in [
            Step::TakenIn,
            Step::Consented,
            Step::Asked,
            Step::Evaluated,
            Step::Lent,
            Step::Ready,
            Step::Trained,
            Step::Sent,
            Step::Decided,
            Step::Prescribed,
            Step::OwnDevice,
        ] {
            if next <= step {
                // Order counts: what follows is a minute later.
                world.passes(SignedDuration::from_mins(1));
                team.takes(world, track, next).await;
            }
        }
        team
    }

    async fn takes(&self, world: &World, track: &Track, step: Step) {
        match step {
            Step::Opened => {}
            Step::TakenIn => self.takes_in(track).await,
            Step::Consented => world.consents(&self.parent, &self.pupil).await,
            Step::Asked => self.asks().await,
            Step::Evaluated => {
                let draft = self.evaluates(track).await;
                self.signs_evaluation(&draft).await;
            }
            Step::Lent => {
                self.stocks_match(world, track).await;
                self.lends(track).await;
            }
            Step::Ready => self.is_ready(track).await,
            Step::Trained => {
                self.trains(track).await;
                self.trains(track).await;
                self.is_seen_in_class().await;
                self.is_seen_at_home(track).await;
                world.days_later(1).await;
                self.trains(track).await;
            }
            Step::Sent => {
                let summary = self.drafts_summary(track).await;
                self.sends_summary(&summary).await;
            }
            Step::Decided => self.decides(world, track, "finalise").await,
            Step::Prescribed => {
                let draft = self.drafts_prescription(world).await;
                self.signs_prescription(&draft).await;
            }
            Step::OwnDevice => self.receives(track).await,
        }
    }

    pub(crate) fn at(&self, path: &str) -> String {
        self.pupil.at(path)
    }

    /// Intake, left and resumed: eyes, plan, room and seat, what to see.
    pub(crate) async fn takes_in(&self, track: &Track) {
        let eyes = [("glasses", "has_wears"), ("reads_up_close", "yes"), ("student_words", "I want to see the board")];
        self.teacher.presses(&self.at("/intake/eyes"), "Save and go on", &eyes).await.redirected_to();
        let seat =
            [("room", "Room 12, science"), ("distance", "5.2 m"), ("board_width", "3 m"), ("light", "normal_indoor")];
        self.teacher.presses(&self.at("/intake/school"), "Add the room and seat", &seat).await.redirected_to();
        self.wants_to_see(track).await;
    }

    pub(crate) async fn wants_to_see(&self, track: &Track) {
        let page = self.teacher.opens(&self.at("/tasks/new")).await.ok();
        let seat = page.choices_of("seat").into_iter().find(|value| !value.is_empty()).unwrap_or_default();
        let mut fields = track.task.to_vec();
        if track.code == "distance" {
            fields.push(("seat", &seat));
        }
        self.teacher.presses_on(&page, "Add", &fields).await.redirected_to();
    }

    /// The vision teacher asks the clinic, which releases the intake.
    pub(crate) async fn asks(&self) {
        let fields =
            [("question", "Which device would let Wren copy from the board?"), ("urgency", "before spring tests")];
        let path = self.at("/evaluations/request");
        self.teacher.presses(&path, "Ask, and release the intake", &fields).await.redirected_to();
    }

    /// The clinician begins a draft; gives its address.
    pub(crate) async fn begins_an_evaluation(&self) -> String {
        let hub = self.clinician.presses(&self.at("/evaluations/new"), "Begin", &[]).await.redirected_to();
        hub.strip_suffix("/edit").expect("the sections of the draft").to_owned()
    }

    /// The clinician evaluates: the device for this track, the other track not
    /// looked at. Gives the draft's address.
    pub(crate) async fn evaluates(&self, track: &Track) -> String {
        let draft = self.begins_an_evaluation().await;
        let save = async |section: &str, fields: &[(&str, &str)]| {
            self.clinician.presses(&format!("{draft}/edit/{section}"), "Save and go on", fields).await.redirected_to();
        };
        let row = track.acuity;
        self.clinician.presses(&format!("{draft}/edit/acuity"), "Add this row", row).await.redirected_to();
        save("refraction", &[("right_sphere", "-2.00"), ("left_sphere", "-1.50")]).await;
        save("sight", &[("contrast", "6 %"), ("contrast_eye", "both"), ("contrast_method", "letters")]).await;
        save("advice", &[("lighting", "a lamp from the left"), ("seating", "second row")]).await;
        let device = prefixed("device_1_", track.device);
        let mut answer =
            vec![("answer", "devices"), ("safe", "with_limits"), ("limits", "Sitting down, not outdoors yet")];
        answer.extend(borrowed(&device));
        save(track.code, &answer).await;
        let other = if track.code == "distance" { "near" } else { "distance" };
        save(other, &[("answer", "not_looked_at")]).await;
        draft
    }

    /// The clinician signs the draft with the password.
    pub(crate) async fn signs_evaluation(&self, draft: &str) {
        let fields = [("password", PASSWORD)];
        self.clinician.presses(&format!("{draft}/preview"), "Sign the evaluation", &fields).await.redirected_to();
    }

    /// A device for the pool; gives its address.
    pub(crate) async fn stocks(&self, world: &World, device: &[(&str, &str)]) -> String {
        let tag = format!("LOAN-{:03}", world.next());
        let today = world.day(0);
        let mut fields =
            vec![("tag", tag.as_str()), ("owner", "district_pool"), ("condition", "good"), ("cleaned_on", &today)];
        fields.extend(device);
        self.teacher.presses("/devices/new", "Add the device", &fields).await.redirected_to()
    }

    pub(crate) async fn stocks_match(&self, world: &World, track: &Track) -> String {
        self.stocks(world, track.device).await
    }

    /// The vision teacher hands over the device that matches.
    pub(crate) async fn lends(&self, track: &Track) {
        let page = self.teacher.opens(&self.at(&format!("/devices/lend/{}", track.code))).await.ok();
        let device = page.choices_of("device").into_iter().next_back().expect("a device that fits");
        let fields = [
            ("device", device.as_str()),
            ("eye", track.eye()),
            ("condition", "good"),
            ("purpose", "trial"),
            ("home_use", "yes"),
            ("agreement_by", "parent"),
            ("held_by", "student"),
        ];
        self.teacher.presses_on(&page, "Hand it over", &fields).await.redirected_to();
    }

    /// The readiness list, signed.
    pub(crate) async fn is_ready(&self, track: &Track) {
        let items: Vec<String> = track.readiness.iter().map(|item| format!("item_{item}")).collect();
        let mut fields = vec![("agreed_words", "\u{201c}OK, I will try it\u{201d}")];
        fields.extend(items.iter().map(|item| (item.as_str(), "yes")));
        let path = self.at(&format!("/training/readiness/{}", track.code));
        self.teacher.presses(&path, "Sign the list", &fields).await.redirected_to();
    }

    /// One session with the device in hand, in the order of skills. Gives its
    /// address.
    pub(crate) async fn trains(&self, track: &Track) -> String {
        let page = self.teacher.opens(&self.at(&format!("/training/new?track={}", track.code))).await.ok();
        let device = page.choices_of("device").into_iter().find(|value| value != "none").expect("a device in hand");
        let fields = [
            ("device", device.as_str()),
            ("minutes", "20"),
            ("place", "quiet_room"),
            ("light", "normal_indoor"),
            ("body", "seated"),
            ("glasses", "on"),
            ("e1_skill", "focusing"),
            ("e1_item", "words on a card"),
            ("e1_distance", if track.code == "distance" { "3 m" } else { "20 cm" }),
            ("e1_height", if track.code == "distance" { "4 cm" } else { "3 mm" }),
            ("e1_tries", "10"),
            ("e1_right", "8"),
            ("e1_prompt", "2"),
            ("comfort", "0"),
        ];
        self.teacher.presses_on(&page, "Save the session", &fields).await.redirected_to()
    }

    /// A classroom teacher saw the student; gives the entry's address.
    pub(crate) async fn is_seen_in_class(&self) -> String {
        let fields = [("device_out", "yes"), ("correct", "3"), ("tried", "8"), ("note", "Asked once where to look")];
        self.sees(&self.classroom, &fields).await
    }

    /// A parent saw the child at home; gives the entry's address.
    pub(crate) async fn is_seen_at_home(&self, track: &Track) -> String {
        let fields = [
            ("flag", "no"),
            ("place", "home"),
            ("task", track.at_home),
            ("device_out", "yes"),
            ("result", "most"),
            ("band", "across_room"),
        ];
        self.sees(&self.parent, &fields).await
    }

    async fn sees(&self, person: &Person, fields: &[(&str, &str)]) -> String {
        let page = person.opens(&self.at("/observations/new")).await.ok();
        let mut fields = fields.to_vec();
        let device = page.choices_of("device").into_iter().next();
        if let Some(device) = &device {
            fields.push(("device", device));
        }
        // The student's own tasks stand first.
        let task = page.choices_of("task").into_iter().next().expect("something to look at");
        if fields.iter().all(|(name, _)| *name != "task") {
            fields.push(("task", &task));
        }
        person.presses_on(&page, "Save", &fields).await.redirected_to()
    }

    /// A draft of the classroom card, written from its numbers; gives its preview.
    pub(crate) async fn drafts_card(&self) -> String {
        let page = self.teacher.opens(&self.at("/card/edit")).await.ok();
        let room = page.choices_of("room").into_iter().find(|room| room != "none").unwrap_or_else(|| "none".to_owned());
        let fields = [("room", room.as_str()), ("seat", "second row, middle")];
        self.teacher.presses_on(&page, "Save and preview", &fields).await.redirected_to()
    }

    /// The classroom card, released.
    pub(crate) async fn releases_card(&self) {
        let preview = self.drafts_card().await;
        self.teacher.presses(&preview, "Release it", &[]).await.redirected_to();
    }

    /// A draft of what to try at home, about a thing to look at.
    pub(crate) async fn drafts_try_at_home(&self, track: &Track) {
        let fields = [("body", "Find the score on the screen, from the sofa"), ("task", track.at_home)];
        self.teacher.presses(&self.at("/card/at-home/edit"), "Save the draft", &fields).await.redirected_to();
    }

    /// What to try at home, released to the family.
    pub(crate) async fn releases_try_at_home(&self, track: &Track) {
        self.drafts_try_at_home(track).await;
        self.teacher.presses(&self.at("/card/at-home"), "Release it to the family", &[]).await.redirected_to();
    }

    /// A draft of the summary with the teacher's words; gives its address.
    pub(crate) async fn drafts_summary(&self, track: &Track) -> String {
        let draft = self
            .teacher
            .presses(&self.at("/summaries"), "Draft the summary", &[("track", track.code)])
            .await
            .redirected_to();
        let fields = [
            ("words", "Wren finds the line and copies it when the room is quiet."),
            ("questions", "Is this the device to keep?"),
            ("few_reason", "A holiday fell into the weeks."),
        ];
        self.teacher.presses(&draft, "Save the draft", &fields).await.redirected_to();
        draft
    }

    /// The vision teacher signs and sends the summary.
    pub(crate) async fn sends_summary(&self, draft: &str) {
        let fields = [("password", PASSWORD)];
        self.teacher.presses(&format!("{draft}/preview"), "Sign and send", &fields).await.redirected_to();
    }

    /// The clinician decides on this track.
    pub(crate) async fn decides(&self, world: &World, track: &Track, choice: &str) {
        let page = self.clinician.opens(&self.at(&format!("/review/{}", track.code))).await.ok();
        let finalised = page.choices_of("finalised");
        let next = world.day(60);
        let mut fields = vec![
            ("choice", choice),
            ("reason", "It carries the board, and Wren uses it."),
            ("next_on", next.as_str()),
            ("password", PASSWORD),
        ];
        if choice == "finalise" {
            fields.extend(finalised.iter().map(|device| ("finalised", device.as_str())));
        }
        self.clinician.presses_on(&page, "Sign the decision", &fields).await.redirected_to();
    }

    /// A draft of the prescription that names the device; gives its address.
    pub(crate) async fn drafts_prescription(&self, world: &World) -> String {
        let draft =
            self.clinician.presses(&self.at("/prescription"), "Draft the prescription", &[]).await.redirected_to();
        let (review, end) = (world.day(180), world.day(700));
        let fields = [
            ("limits", "Sitting or standing still only."),
            ("review_on", review.as_str()),
            ("expires_on", end.as_str()),
        ];
        self.clinician.presses(&draft, "Save the draft", &fields).await.redirected_to();
        draft
    }

    /// The clinician signs the prescription.
    pub(crate) async fn signs_prescription(&self, draft: &str) {
        let fields = [("password", PASSWORD)];
        self.clinician.presses(&format!("{draft}/preview"), "Sign the prescription", &fields).await.redirected_to();
    }

    /// A parent records the device that arrived, as prescribed.
    pub(crate) async fn receives(&self, track: &Track) {
        let page = self.parent.opens(&self.at("/devices")).await.ok();
        let form = page.link("Record a device that arrived");
        let mut fields = vec![("tag", "SN-4711"), ("received_by", "Solveig"), ("condition", "new")];
        fields.extend(track.device);
        self.parent.presses(&form, "Save what arrived", &fields).await.redirected_to();
    }

    /// Once round up to the signed prescription, so that a signed one of every
    /// document is there, and then the drafts of the next round.
    pub(crate) async fn goes_round_and_on(&self, world: &World, track: &Track) {
        self.takes_in(track).await;
        self.asks().await;
        // Order counts: what follows is a minute later.
        world.passes(SignedDuration::from_mins(1));
        let evaluation = self.evaluates(track).await;
        self.signs_evaluation(&evaluation).await;
        self.stocks_match(world, track).await;
        self.lends(track).await;
        self.is_ready(track).await;
        self.trains(track).await;
        self.releases_card().await;
        self.is_seen_in_class().await;
        self.is_seen_at_home(track).await;
        world.passes(SignedDuration::from_mins(1));
        let summary = self.drafts_summary(track).await;
        self.sends_summary(&summary).await;
        self.decides(world, track, "finalise").await;
        let prescription = self.drafts_prescription(world).await;
        self.signs_prescription(&prescription).await;
        self.drafts_summary(track).await;
        self.drafts_prescription(world).await;
        self.evaluates(track).await;
        self.asks().await;
        self.drafts_card().await;
    }
}
