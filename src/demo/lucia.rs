//! Lucia, 8: asked for, not yet seen. Her request waits for the second consent.

use super::cast::Who::{Marisol, Noor, Rosalba};
use super::story::{Fields, Step, Story};

pub(super) fn story() -> Vec<Step> {
    let mut story = Story::new("Lucia");
    story.on(2027, 2, 16, 9).press_keep(
        Marisol,
        "/students/new",
        "Open the record",
        &[
            ("name", "Lucia Quintanar"),
            ("number", "BF-21168"),
            ("birth_date", "@2018-11-05"),
            ("school", "Ottermere Elementary"),
            ("grade", "3"),
            ("languages", "Spanish, English"),
            ("interpreter", "yes"),
            ("print_format", "print 14 pt"),
            ("print_format", "enlarged copies"),
        ],
        ("S", "/intake/eyes"),
    );
    story.press(
        Marisol,
        "{S}/intake/eyes",
        "Save and go on",
        &[
            ("referral_source", "school_nurse"),
            ("referral_on", "@2027-02-11"),
            ("referral_reason", "Holds comics to her nose and copies sums wrong from the board; did not pass the vision screening."),
            ("concerns", "moves_close"),
            ("concerns", "loses_place"),
            ("concerns", "misses_board"),
            ("concerns", "tires"),
            ("eye_report_on", "@2026-01-05"),
            ("eye_report_note", "Eye doctor in the city: 20/125 with both eyes, glasses on; suspected juvenile macular disease; wanted to see her again"),
            ("glasses", "has_does_not_wear"),
            ("glasses_note", "Says they make no difference"),
            ("near_distance", "9 cm"),
            ("smallest_print", "14 pt, slowly"),
            ("reads_up_close", "some"),
            ("head_turn", "none"),
            ("tires_after", "15"),
            ("mobility_note", "No trouble on the way to school, which she knows well."),
            ("student_words", "In the comics I guess what they say from the faces."),
        ],
    );
    story.press(
        Marisol,
        "{S}/intake/school",
        "Add the room and seat",
        &[
            ("room", "Room 7"),
            ("distance", "4.2 m"),
            ("board_width", "2.4 m"),
            ("illuminance", "350"),
            ("light", "normal_indoor"),
            ("measured_on", "@2027-02-16"),
        ],
    );
    story.press(Marisol, "{S}/intake/school", "Save the plan", &[("plan_type", "referral_only")]);
    let tasks: [Fields<'_>; 3] = [
        &[
            ("code", "board_maths"),
            ("name", "Sums on the board"),
            ("seat", "~Room 7"),
            ("track", "distance"),
            ("goal", "copy"),
            ("x_height", "3 cm"),
            ("display", "whiteboard"),
            ("marker", "blue_on_white"),
            ("light", "normal_indoor"),
            ("target", "digits"),
            ("measured", "yes"),
            ("wanted_by", "her teacher"),
        ],
        &[
            ("code", "comic_or_book"),
            ("name", "Comic books"),
            ("distance", "9 cm"),
            ("track", "near"),
            ("goal", "phrase"),
            ("x_height", "1.5 mm"),
            ("display", "page"),
            ("target", "words"),
            ("measured", "yes"),
            ("wanted_by", "Lucia"),
        ],
        &[
            ("code", "price_label"),
            ("name", "Price labels in the shop"),
            ("distance", "1 ft"),
            ("track", "near"),
            ("goal", "name_it"),
            ("x_height", "1/4 in"),
            ("display", "page"),
            ("target", "digits"),
            ("wanted_by", "her grandmother"),
        ],
    ];
    for task in tasks {
        story.press(Marisol, "{S}/intake/tasks", "Add", task);
    }
    story.on(2027, 2, 17, 15);
    story.joins(Marisol, "parent", "grandmother, guardian", Rosalba);
    story.contact(Rosalba, "grandmother, guardian", "555-0124", "Spanish");
    story.joins(Marisol, "clinician", "", Noor);
    story.on(2027, 2, 24, 18).consents(Rosalba, "clinic_to_school", "Spanish, read aloud by the interpreter");
    story.on(2027, 2, 26, 10).finishes_steps(Marisol);
    story.press(
        Marisol,
        "{S}/evaluations/request",
        "Ask, and release the intake",
        &[
            ("question", "What can she see now, far and near, with and without her glasses? Would a magnifier for comics and a telescope for sums be worth a trial?"),
            ("urgency", "Soon: the newest eye report is more than a year old"),
        ],
    );
    story.press(Marisol, "{S}/evaluations", "Save the day", &[("appointment_on", "@2027-03-19")]);
    story.writes(Marisol, "parent", "The clinic may send us its findings, thank you. For the other direction, from us to the clinic, your signature is still missing. Shall I call with the interpreter?");
    story.on(2027, 3, 1, 11).sees(
        Marisol,
        &[
            ("place", "own_class"),
            ("task", "~Sums on the board"),
            ("device_out", "not_needed"),
            ("correct", "2"),
            ("tried", "6"),
            ("glasses", "off"),
            ("help", "none"),
            ("comfort", "tired"),
            ("note", "Guesses from the shape of the sum; from half way to the board she reads all six."),
        ],
    );
    story.on(2027, 3, 6, 18).writes(Rosalba, "note", "Mi nieta pregunta si puede llevar sus c\u{f3}mics a la cita.");
    story.on(2027, 3, 8, 9).invites(Marisol, "classroom_teacher", "Teacher of Room 7");
    at_home(&mut story);
    story.finish()
}

/// Notes from home, in the grandmother's words; no device is there yet.
fn at_home(story: &mut Story) {
    let home = [("flag", "no"), ("place", "home"), ("device_out", "not_needed")];
    for (month, day, fields) in [
        (2, 18, &[("task", "~Comic books"), ("result", "some"), ("help", "told_once"), ("mood", "ok"), ("note", "Lee con la nariz en la p\u{e1}gina.")][..]),
        (2, 20, &[("task", "~Television"), ("result", "none"), ("band", "across_room"), ("help", "none"), ("mood", "bored"), ("note", "Se sienta en el suelo, muy cerca.")]),
        (2, 21, &[("task", "~Price labels"), ("place", "shop"), ("result", "some"), ("help", "helped"), ("mood", "ok"), ("note", "Le le\u{ed} los precios peque\u{f1}os.")]),
        (2, 23, &[("task", "~Comic books"), ("result", "most"), ("help", "none"), ("mood", "proud"), ("tired", "5_to_15"), ("note", "Con la l\u{e1}mpara nueva ley\u{f3} tres p\u{e1}ginas.")]),
        (2, 25, &[("task", "~List on the fridge"), ("result", "none"), ("help", "told_once"), ("mood", "ok"), ("note", "Desde la mesa no la lee.")]),
        (2, 28, &[("task", "~Price labels"), ("place", "shop"), ("result", "none"), ("help", "helped"), ("mood", "upset"), ("note", "Las etiquetas de abajo s\u{ed}, las de arriba no.")]),
        (3, 2, &[("task", "~Comic books"), ("result", "some"), ("help", "none"), ("mood", "ok"), ("tired", "5_to_15"), ("note", "Adivina por las caras.")]),
        (3, 4, &[("task", "~Television"), ("result", "some"), ("band", "across_table"), ("help", "none"), ("mood", "ok"), ("note", "De cerca dice que ve los n\u{fa}meros.")]),
        (3, 7, &[("task", "~Comic books"), ("result", "most"), ("help", "none"), ("mood", "proud"), ("tired", "15_to_30"), ("note", "Quiere llevar este a la cita.")]),
    ] {
        // Where it was is said in the note's own fields, if not at home.
        let base: Vec<_> = home.iter().filter(|(name, _)| fields.iter().all(|(said, _)| said != name)).copied().collect();
        story.on(2027, month, day, 19).sees(Rosalba, &[&base[..], fields].concat());
    }
}
