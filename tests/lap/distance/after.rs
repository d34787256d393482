//! The second half of the lap: what the others see, the summary, the decision,
//! the prescription, and the student's own device.

use super::*;

impl Story {
    pub(super) async fn observes(&self, person: &Person, task: &str, fields: &[(&str, &str)]) -> Page {
        let page = person.opens(&self.at("/observations/new")).await.ok();
        let task = choice_of(&page, "task", task);
        let all = [&[("task", task.as_str())], fields].concat();
        let answer = person.presses_on(&page, "Save", &all).await;
        person.follows(&answer).await.ok()
    }

    pub(super) async fn class_and_family_see_her(&self) {
        // Three taps and a count; size and distance are the task's.
        let without = [("device_out", "not_needed"), ("correct", "2"), ("tried", "6"), ("help", "none"), ("contrast", "high")];
        let page = self.observes(&self.corin, "Long division", &without).await;
        page.sees("2 of 6 right at 3 cm from 4 m.")
            .sees("The classroom card is not released yet.")
            .sees("(from the task)")
            .lacks("logMAR")
            .lacks("acuity");
        let most = [("flag", "no"), ("place", "home"), ("device_out", "yes"), ("result", "most"), ("band", "across_room"), ("help", "none")];
        let page = self.observes(&self.ifeoma, "Television", &most).await;
        page.sees("You saw most of it read right at home, from across the room, with the device.").lacks("logMAR");
        let pier = [("flag", "no"), ("place", "other"), ("device_out", "yes"), ("correct", "4"), ("tried", "5"), ("help", "none"), ("note", "Read the 16:40 before me!")];
        self.observes(&self.ifeoma, "Ferry times", &pier).await.sees("4 of 5");
        let shy = [("flag", "no"), ("place", "shop"), ("device_out", "chose_not"), ("non_use", "embarrassed"), ("result", "did_not_try")];
        self.observes(&self.ifeoma, "Menu board in a shop", &shy).await.sees("Choosing not to use it");
        // For a day, what a note says is its writer's.
        self.marisol.opens(&self.at("/observations")).await.ok().lacks("16:40");
    }

    /// The card's numbers are what the vision functions give, and what hand and
    /// paper give.
    pub(super) async fn the_card_carries_the_numbers(&self) {
        self.a_day_later().await;
        self.corin.opens(&self.at("/card")).await.ok().sees("No card is released yet");
        let page = self.marisol.opens(&self.at("/card/edit")).await.ok();
        let fields = [
            ("seat", "Second row, left of the middle"),
            ("board", "Black marker on white"),
            ("device_when", "For the board. She chooses when."),
            ("head_turn", "yes"),
            ("rest", "Eyes off after ten minutes"),
        ];
        let preview = self.marisol.presses_on(&page, "Save and preview", &fields).await.redirected_to();
        self.marisol.presses(&preview, "Release it", &[]).await.redirected_to();
        let home = [("body", "Let her read the ferry times first.")];
        self.marisol.presses(&self.at("/card/at-home/edit"), "Save the draft", &home).await.redirected_to();
        self.marisol.presses(&self.at("/card/at-home"), "Release it to the family", &[]).await.redirected_to();

        let (unaided, with_device) = by_the_functions();
        // By hand. Threshold at 1.00 logMAR 50', for copying 2.5 times that, 125'.
        // Seat: 0.03 / (2 tan 62.5') = 0.825 m; letters: 2 x 4 tan 62.5' = 145.5 mm.
        // Through it decimal 0.4 is 12.5', so 31.25': 3.300 m and 36.4 mm. Seats go
        // down to 0.1 m, letters up to 0.5 cm.
        assert_eq!(unaided, "within 80 cm, or small letters 15 cm tall");
        assert_eq!(with_device, "within 3.3 m, or small letters 4 cm tall");
        let (unaided, with_device) = (unaided.trim_start_matches('w'), with_device.trim_start_matches('w'));
        for person in [&self.marisol, &self.corin, &self.ifeoma, &self.holt] {
            let page = person.opens(&self.at("/card")).await.ok();
            page.sees(unaided).sees(with_device).sees("Turning the head is helpful").lacks("logMAR").lacks("10/120");
        }
        self.ifeoma.opens(&self.at("/card")).await.ok().sees("Let her read the ferry times first.");
        self.corin.opens(&self.at("/card")).await.ok().lacks("ferry times first");
        self.corin.opens(&self.at("/card/at-home")).await.hidden();
        // On the writer's and the clinic's screens the same line stands with the room.
        self.marisol.opens(&self.at("/tasks")).await.ok().sees(unaided).sees(with_device);

        // Now her class's sentence is set against the card.
        let with = [("device_out", "yes"), ("correct", "3"), ("tried", "8"), ("help", "none"), ("contrast", "high")];
        let page = self.observes(&self.corin, "Long division", &with).await;
        page.sees("3 of 8 right at 3 cm from 4 m with the device. With the device the card asks for 4 cm there, or a seat within 3.3 m.");
        self.a_day_later().await;
        let nearer = [("device_out", "yes"), ("correct", "7"), ("tried", "8"), ("help", "none"), ("distance", "3 m"), ("contrast", "high")];
        let page = self.observes(&self.corin, "Long division", &nearer).await;
        // At 3 m 36.36 x 3/4 = 27.3 mm are enough; she wrote 30.
        page.sees("7 of 8 right at 3 cm from 3 m with the device. With the device the card asks for 3 cm there, and this was large enough.")
            .lacks("logMAR");
        let helped = [("device_out", "yes"), ("correct", "8"), ("tried", "8"), ("help", "told_once")];
        self.observes(&self.corin, "Long division", &helped).await.sees("not counted as seen alone");
        let forgot = [("device_out", "forgot"), ("non_use", "no_time"), ("result", "none"), ("help", "none")];
        self.observes(&self.corin, "Long division", &forgot).await;
    }

    pub(super) async fn questions_are_asked_and_answered(&self) {
        let thread = self.at("/thread");
        let posts = async |person: &Person, to: &str, body: &str| {
            person.presses(&thread, "Send", &[("to", to), ("body", body)]).await.redirected_to();
        };
        posts(&self.marisol, "note", "She braces on the desk now.").await;
        posts(&self.marisol, "clinician", "Is the pier all right from the bench?").await;
        posts(&self.ifeoma, "vision_teacher", "May she take it to \u{5e1}\u{5d1}\u{5ea}\u{5d0}?").await;
        self.holt.opens("/today").await.ok().sees("Is the pier all right from the bench?");
        let page = self.holt.opens(&thread).await.ok().sees("Question to the clinician");
        let answer = page.link("Answer");
        self.holt.presses(&answer, "Send the answer", &[("body", "From the bench, sitting, yes.")]).await.redirected_to();
        let page = self.ifeoma.opens(&thread).await.ok();
        page.sees("Answered by Casimir Holt").sees("From the bench, sitting, yes.").sees("\u{5e1}\u{5d1}\u{5ea}\u{5d0}");
        // What is not addressed to the class is not the class's.
        self.corin.opens(&thread).await.ok().lacks("braces on the desk").lacks("bench");
        // Every event stands in it, in order.
        let page = self.marisol.opens(&thread).await.ok();
        for words in ["Evaluation asked for", "Evaluation signed", "Loan lent, distance", "Readiness list signed, distance", "Training session recorded, distance", "Classroom card released"] {
            assert!(page.seen().contains(words), "\"{words}\" is not in the thread\n{}", page.seen());
        }
    }

    pub(super) async fn a_red_flag_stops_training(&self) {
        let safety = self.at("/safety");
        self.corin.presses(&safety, "Send the red flag", &[("sign", "rf2"), ("note", "Says there are new spots")]).await.redirected_to();
        self.ifeoma.opens(&safety).await.ok().sees("Get eye care today").sees("new spots");
        // What was practised last stands in the form; today it is none of the tasks.
        let bare = [("e1_task", ""), ("e1_distance", ""), ("e1_height", "")];
        let lesson = [
            ("minutes", "20"),
            ("place", "quiet_room"),
            ("body", "seated"),
            ("e1_skill", "focusing"),
            ("e1_tries", "5"),
            ("e1_right", "5"),
            ("e1_prompt", "5"),
        ];
        let lesson = [&lesson[..], &bare].concat();
        let sessions = self.world.count("training_session").await;
        let page = self.trains("TERN-5", &lesson).await.status(409);
        assert_eq!(page.link("Go to that step"), safety);
        assert_eq!(self.world.count("training_session").await, sessions);
        // Nobody of the school clears it.
        let flag = self.newest("flag").await;
        let clear = self.at(&format!("/safety/{flag}/clear"));
        for person in [&self.marisol, &self.corin, &self.ifeoma] {
            let page = person.submits(&clear, &[("note", "It is fine"), ("password", PASSWORD)]).await;
            assert!([403, 404].contains(&page.code()), "{}", page.asked());
        }
        self.trains("TERN-5", &lesson).await.status(409);
        let found = [("note", "Seen today, floaters, nothing torn."), ("password", PASSWORD)];
        self.holt.presses(&clear, "Clear the flag", &found).await.redirected_to();
        self.trains("TERN-5", &[&lesson[..], &[("refused", "yes"), ("refused_reason", "head hurts")]].concat()).await.redirected_to();
    }

    /// The figures of the draft are those counted by hand from the story above.
    pub(super) async fn the_summary_counts(&self) -> String {
        self.a_day_later().await;
        self.a_day_later().await;
        let draft = self.marisol.presses(&self.at("/summaries"), "Draft the summary", &[("track", "distance")]).await.redirected_to();
        let page = self.marisol.opens(&draft).await.ok();
        // 25 + 20 + 20 + 15 + 25 + 20 + 20 minutes in 7 sessions; the days of the
        // probe and the first lesson are one, those of the second class lesson and
        // the board another.
        page.clone().sees("7 sessions on 5 dates, 145 minutes together");
        let skills = page.table("Skills in training");
        let skill = |name: &str, how: &str| {
            let row = skills.rows.iter().find(|row| row[0] == name && row[1].contains(how));
            row.unwrap_or_else(|| panic!("no {name}, {how} in {skills:?}")).clone()
        };
        // Alone: 5 + 5 + 5 of 15; helped: 4 of 5.
        let focusing = skill("Focusing", "with");
        assert!(focusing[2].starts_with("15 of 15 right"), "{focusing:?}");
        assert_eq!(focusing[4], "4 of 5");
        assert!(skill("Focusing", "baseline")[2].starts_with("2 of 5 right"), "{skills:?}");
        // 6 + 7 of 8 + 8: 81 %, Wilson 57 to 93 (by hand).
        assert_eq!(skill("Spotting", "with")[2].replace('\u{a0}', " "), "13 of 16 right, 81 % (57 to 93 %)");
        assert!(skill("Spotting", "baseline")[2].starts_with("1 of 5 right"), "{skills:?}");
        let tasks = page.table("Tasks, by setting, with and without a device");
        let task = |name: &str, place: &str, device: &str| {
            let row = tasks.rows.iter().find(|row| row[0] == name && row[1].to_lowercase().contains(place) && row[2].to_lowercase().contains(device));
            row.unwrap_or_else(|| panic!("no {name}, {place}, {device} in {tasks:?}")).clone()
        };
        assert!(task("Long division", "class", "without")[3].starts_with("2 of 6 right"), "{tasks:?}");
        // 3 + 7 of 8 + 8; the entry with help counts as use only.
        assert_eq!(task("Long division", "class", "5")[3].replace('\u{a0}', " "), "10 of 16 right, 63 % (39 to 82 %)");
        assert!(task("Long division", "training", "5")[3].starts_with("13 of 16 right"), "{tasks:?}");
        assert!(task("Ferry times", "community", "5")[3].starts_with("4 of 5 right"), "{tasks:?}");
        let reasons = page.table("Why the device was not used");
        let times = |words: &str| reasons.rows.iter().find(|row| row[1].to_lowercase().contains(words)).map(|row| row[2].clone());
        assert_eq!(times("embarrassed").as_deref(), Some("1"), "{reasons:?}");
        assert_eq!(times("no time").as_deref(), Some("1"), "{reasons:?}");
        assert_eq!(times("head hurts").as_deref(), Some("1"), "{reasons:?}");
        // The medians of 4, 5, 5, 5, 3, 5, 5 in six sessions with teaching.
        page.sees("Median prompt level 5 in the first 3 sessions and 5 in the last 3, of 6 sessions.").sees("Read the 16:40 before me!");

        let words = [
            ("words", "She spots the board line and copies it from four metres, slowly."),
            ("student_words", "Not in assembly."),
            ("questions", "Is five enough, or is the field too small for the whole sum?"),
        ];
        self.marisol.presses(&draft, "Save the draft", &words).await.redirected_to();
        self.holt.opens(&draft).await.hidden();
        self.marisol.presses(&format!("{draft}/preview"), "Sign and send", &[("password", PASSWORD)]).await.redirected_to();
        assert_eq!(self.stage(&self.marisol).await, "Distance: summary with clinician; Near: no device advised");
        draft
    }

    pub(super) async fn the_clinician_decides_and_prescribes(&self, summary: &str) {
        let page = self.holt.opens("/today").await.ok();
        page.sees("Tinny").sees("Decide on the training summary");
        self.holt.opens(summary).await.ok().sees("7 sessions on 5 dates").sees("Not in assembly.");
        self.corin.opens(summary).await.hidden();
        let review = self.at("/review/distance");
        let page = self.holt.opens(&review).await.ok();
        let page = page.sees("Is five enough").sees("13 of 16 right").sees("10 of 16 right");
        let matrix = page.table("Device by task");
        assert!(matrix.heads.len() >= 3, "with and without a device, side by side: {matrix:?}");
        let finalised = page.choices_of("finalised");
        assert_eq!(finalised.len(), 1, "the one device in force");
        let fields = [
            ("choice", "finalise"),
            ("finalised", finalised[0].as_str()),
            ("reason", "Reads the board from her seat; field is wide enough for a line."),
            ("password", PASSWORD),
        ];
        self.holt.presses_on(&page, "Sign the decision", &fields).await.redirected_to();
        self.marisol.opens(&self.at("/prescription")).await.ok().sees("field is wide enough for a line");
        // Unchanged until the signature.
        assert_eq!(self.stage(&self.marisol).await, "Distance: summary with clinician; Near: no device advised");
        let draft = self.holt.presses(&self.at("/prescription"), "Draft the prescription", &[]).await.redirected_to();
        let page = self.holt.opens(&draft).await.ok();
        assert_eq!(page.value_of("right_sphere").as_deref(), Some("-3.25"));
        assert_eq!(page.value_of("distance_first_power").as_deref(), Some("5"));
        self.ifeoma.opens(&draft).await.hidden();
        let fields = [("lens_note", "Over the new glasses"), ("limits", "Standing still or sitting. Never while walking.")];
        self.holt.presses(&draft, "Save the draft", &fields).await.redirected_to();
        self.holt.presses(&format!("{draft}/preview"), "Sign the prescription", &[("password", PASSWORD)]).await.redirected_to();
        for person in [&self.holt, &self.marisol, &self.ifeoma] {
            person.opens(&draft).await.ok().sees("-3.25 / -1.50 × 170").sees("5× handheld telescope").sees("Made-up licence 4102");
        }
        self.corin.opens(&draft).await.hidden();
        assert_eq!(self.stage(&self.marisol).await, "Distance: prescribed, awaiting the device; Near: no device advised");
    }

    /// From the day it arrives later entries name it or none (G6).
    pub(super) async fn the_own_device_takes_over(&self) {
        let day_before = self.world.day(0);
        self.world.passes(SignedDuration::from_mins(1));
        for _ in 0..9 {
            self.a_day_later().await;
        }
        let page = self.ifeoma.opens(&self.at("/devices")).await.ok();
        let arrived = [
            ("kind", "handheld_monocular"),
            ("power", "5"),
            ("objective", "15"),
            ("field", "10"),
            ("near_focus", "30 cm"),
            ("eye", "right"),
            ("tag", "SN 88-\u{3b1}"),
            ("received_by", "Ifeoma"),
            ("condition", "new"),
        ];
        let form = address_of(&page, "Record a device that arrived");
        self.ifeoma.presses(&form, "Save what arrived", &arrived).await.redirected_to();
        assert_eq!(self.stage(&self.marisol).await, "Distance: own device; Near: no device advised");
        let received = self.world.day(0);
        self.marisol.opens(&self.at("/devices")).await.ok().sees("Own device in force").sees("Own device instead");

        self.a_day_later().await;
        let loan = format!("loan:{}", self.newest("loan").await);
        let today = self.world.day(0);
        let session = async |device: &str, day: &str| {
            let fields = [
                ("track", "distance"),
                ("device", device),
                ("held_on", day),
                ("minutes", "20"),
                ("place", "quiet_room"),
                ("body", "seated"),
                ("e1_skill", "focusing"),
                ("e1_tries", "5"),
                ("e1_right", "5"),
                ("e1_prompt", "5"),
            ];
            self.marisol.submits(&self.at("/training/new"), &fields).await
        };
        let before = self.world.content().await;
        session(&loan, &today).await.blocked("own device");
        assert_eq!(self.world.content().await, before);
        session(&loan, &day_before).await.redirected_to();
        session("none", &today).await.redirected_to();
        let own = format!("own:{}", self.newest("own_device").await);
        session(&own, &today).await.redirected_to();
        // It is not named for a day before it came.
        session(&own, &day_before).await.status(409);
        assert!(received > day_before);
        // The class may not name the loan either.
        let page = self.corin.opens(&self.at("/observations/new")).await.ok();
        let task = choice_of(&page, "task", "Long division");
        let fields = [("task", task.as_str()), ("device_out", "yes"), ("device", loan.as_str()), ("result", "all"), ("seen_on", today.as_str())];
        self.corin.submits(&self.at("/observations/new"), &fields).await.blocked("own device");
        let fields = [("task", task.as_str()), ("device_out", "yes"), ("device", own.as_str()), ("result", "all"), ("seen_on", today.as_str())];
        self.corin.submits(&self.at("/observations/new"), &fields).await.redirected_to();
    }
}

/// The line without and with the device as the library gives it.
fn by_the_functions() -> (String, String) {
    let used = |logmar: f64, basis| AcuityUsed { acuity: LogMar::new(logmar).expect("in range"), basis };
    let metres = |value: f64| Metres::new(value).expect("in range");
    let question = Question {
        writing: BoardWriting { x_height: metres(SIZE_M), goal: Goal::Copy, contrast: Weber::new(0.9).ok() },
        seat: Seat::in_front(metres(SEAT_M)),
        viewer: Viewer {
            // 3/30 with both eyes as worn in class.
            acuity: used(1.0, Basis::BothEyesAsWorn),
            // 4 % threshold contrast.
            sensitivity: LogContrastSensitivity::new(-(0.04_f64.log10())).ok(),
        },
        device: Some(ThroughDevice { acuity: used(2.5_f64.log10(), Basis::MeasuredThroughDevice), nearest_focus: Some(metres(0.28)) }),
    };
    let told = |line: farpoint::vision::seat_print::Line| line.words(Units::Metric).expect("a length");
    match seat_and_print(&question, &Goals::default()) {
        Ok(SeatAndPrint::Advice(advice)) => {
            (told(advice.unaided), told(advice.with_device.expect("a device was asked about")))
        }
        other => panic!("{other:?}"),
    }
}
