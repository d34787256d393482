//! An invented record with everything in it that a format has to carry, of as
//! many years as wanted. People, numbers and places are invented.

use farpoint::care::device::DeviceSpec;
use farpoint::care::prescription::State;
use farpoint::care::track::{DeviceKind, Eye, Light, Track, WithGlasses};
use farpoint::exchange::record::{
    Acuity, Amended, Answer, Coded, Consent, Decision, Detail, Device, Disclosure, Evaluation, Exercise, Goal, Loan,
    Named, Observation, Person, Post, Prescription, Record, Refraction, Session, Standing, Student, Summary, Task,
    Through,
};
use farpoint::vision::units::{Degrees, Dioptres, Magnification, Metres, Millimetres};
use jiff::civil::{Date, date};
use jiff::{Timestamp, ToSpan};

/// An id that is the same every time: which kind, and which of it.
fn id(kind: u32, number: usize) -> String {
    format!("{kind:08x}-93a2-7c0a-8c55-{number:012x}")
}

const fn coded(code: &'static str, words: &'static str) -> Coded {
    Coded { code, words }
}

fn at(day: Date) -> Timestamp {
    day.at(16, 0, 0, 0).in_tz("UTC").expect("UTC has every hour").timestamp()
}

fn telescope() -> Named {
    let mut spec = DeviceSpec::of(DeviceKind::HandheldMonocular);
    spec.power = Some(Magnification::literal(6.0));
    spec.objective = Some(Millimetres::literal(16.0));
    spec.true_field = Some(Degrees::literal(9.0));
    spec.near_focus = Some(Metres::literal(0.25));
    spec.with_glasses = Some(WithGlasses::Over);
    spec.eye = Some(Eye::Right);
    Named {
        spec,
        label: "6x16".to_owned(),
        purpose: "copying from the board".to_owned(),
        limits: "Never look at the sun. Stand still.".to_owned(),
    }
}

fn magnifier() -> Named {
    let mut spec = DeviceSpec::of(DeviceKind::StandMagnifier);
    spec.equivalent_power = Some(Dioptres::literal(16.0));
    spec.lens_diameter = Some(Millimetres::literal(50.0));
    spec.light = Some(Light::Battery);
    spec.eye = Some(Eye::Both);
    Named { spec, label: String::new(), purpose: "reading <books> & maps".to_owned(), limits: String::new() }
}

const RIGHT: Coded = coded("right", "right eye");
const LEFT: Coded = coded("left", "left eye");
const BOTH: Coded = coded("both", "both eyes");

fn acuity(number: usize, eye: Coded, correction: Coded, recorded: &str, logmar: Option<f64>) -> Acuity {
    Acuity {
        id: id(3, number),
        eye,
        correction,
        distance_m: 3.048,
        distance_typed: "10 ft".to_owned(),
        near: false,
        notation: coded("feet", "a fraction in feet"),
        as_recorded: recorded.to_owned(),
        logmar,
        category: logmar.is_none().then_some(coded("counts_fingers", "counts fingers")),
        target: Some(coded("row_letters", "letters in rows")),
        light: Some(coded("normal", "normal")),
        effort: Some(coded("good", "good")),
        through: None,
        note: String::new(),
    }
}

fn lens(right: bool) -> Refraction {
    Refraction {
        right,
        sphere_d: if right { 2.25 } else { 0.0 },
        cylinder_d: right.then_some(-1.75),
        axis_deg: right.then_some(175),
        add_d: Some(2.5),
        prism_d: (!right).then_some(1.5),
        prism_base: (!right).then_some(coded("in", "base in")),
        method: Some(coded("subjective", "subjective")),
        typed: "as typed".to_owned(),
    }
}

fn evaluation(year: usize, on: Date) -> Evaluation {
    let best = coded("best_correction", "best (trial) correction");
    let mut acuities = vec![
        acuity(year * 10, RIGHT, best, "10/80", Some(0.903_089_986_991_943_5)),
        acuity(year * 10 + 1, LEFT, coded("none", "nothing"), "10/120", Some(1.079)),
        acuity(year * 10 + 2, BOTH, coded("habitual_glasses", "usual glasses"), "10/63", Some(0.8)),
        acuity(year * 10 + 3, LEFT, best, "CF @ 1 m", None),
    ];
    let mut through = acuity(year * 10 + 4, RIGHT, coded("through_device", "through a device"), "10/20", Some(0.301));
    through.through = Some(Through { kind: DeviceKind::HandheldMonocular, power: Some(6.0), equivalent_d: None });
    let mut near = acuity(year * 10 + 5, BOTH, best, "4M @ 40 cm", Some(1.0));
    (near.near, near.distance_m, near.distance_typed) = (true, 0.4, "40 cm".to_owned());
    acuities.extend([through, near]);
    Evaluation {
        id: id(2, year),
        examined_on: Some(on),
        examiner: "Ignatius Farrow".to_owned(),
        examiner_id: Some(id(1, 2)),
        author_id: id(1, 2),
        signed_at: at(on),
        standing: if year == 0 { Standing::Superseded } else { Standing::Final },
        diagnosis: "Invented dystrophy, stable".to_owned(),
        acuities,
        refractions: vec![lens(true), lens(false)],
        answers: vec![
            Answer {
                track: Track::Distance,
                choice: coded("devices", "a device to train with"),
                safe: coded("with_limits", "yes, with limits"),
                limits: "Sitting down".to_owned(),
                devices: vec![telescope()],
            },
            Answer {
                track: Track::Near,
                choice: coded("not_looked_at", "not looked at this time"),
                safe: coded("not_stated", "not stated on the report"),
                limits: String::new(),
                devices: Vec::new(),
            },
        ],
        version: 4,
    }
}

fn prescription(year: usize, years: usize, on: Date) -> Prescription {
    Prescription {
        id: id(4, year),
        number: format!("RX-{}", year + 1),
        state: if year + 1 == years { State::Active } else { State::Superseded },
        lenses: vec![lens(true), lens(false)],
        lens_note: "A tint for outdoors".to_owned(),
        devices: vec![(Track::Distance, telescope()), (Track::Near, magnifier())],
        limits: "Do not walk while looking through it.".to_owned(),
        lighting: "A lamp from the left".to_owned(),
        seating: "The first two rows".to_owned(),
        supersedes: (year > 0).then(|| id(4, year - 1)),
        written_on: on,
        signed_at: at(on),
        review_on: Some(on.saturating_add(12.months())),
        expires_on: Some(on.saturating_add(24.months())),
        prescriber_id: id(1, 2),
        prescriber_line: "Ignatius Farrow, OD, invented licence 77".to_owned(),
    }
}

fn session(number: usize, on: Date) -> Session {
    let exercise = |place: usize| Exercise {
        id: id(8, number * 4 + place),
        skill: coded("spotting", "spotting"),
        item: "words on a card".to_owned(),
        task_id: Some(id(10, 0)),
        distance_m: Some(3.0),
        x_height_mm: Some(40.0),
        tries: Some(10),
        right: Some(8),
        median_s: Some(2.5),
        prompt: coded("4", "a hint or a question"),
        prompt_count: Some(2),
    };
    let refused = number % 37 == 36;
    Session {
        id: id(7, number),
        track: Track::Distance,
        on,
        minutes: 20,
        place: coded("quiet_room", "quiet room"),
        light: Some(coded("normal_indoor", "normal indoor")),
        baseline: number == 0,
        device_id: Some(id(5, 0)),
        comfort: Some(coded("0", "fine")),
        symptoms: vec![coded("tired_arm", "tired arm or neck"), coded("watering", "watering eyes")],
        refused: refused.then(|| "wanted to play outside".to_owned()),
        note: "=HYPERLINK(\"a\") is what a child wrote".to_owned(),
        exercises: if refused { Vec::new() } else { (0..3).map(exercise).collect() },
        author_id: id(1, 0),
        entered_at: at(on),
        in_error: number % 50 == 49,
    }
}

fn observation(number: usize, on: Date) -> Observation {
    let counted = number.is_multiple_of(2);
    let detail = Detail {
        task_id: Some(id(10, 0)),
        what: "Science board".to_owned(),
        place: Some(coded("own_class", "own classroom")),
        distance_m: Some(5.2),
        x_height_mm: Some(35.0),
        contrast: Some(coded("high", "high")),
        device_out: Some(coded("yes", "yes")),
        device_id: Some(id(5, 0)),
        graded: (!counted).then_some(coded("most", "most, more than half but not all")),
        correct: counted.then_some(3),
        tried: counted.then_some(8),
        help: Some(coded("none", "alone")),
        mood: Some(coded("proud", "proud")),
        note: "Asked once where to look".to_owned(),
        version: 1,
        ..Detail::default()
    };
    Observation {
        id: id(9, number),
        setting: coded("classroom", "classroom"),
        on,
        role: Some(coded("classroom_teacher", "classroom teacher")),
        author_id: id(1, 1),
        entered_at: at(on),
        in_error: false,
        detail: (number % 11 != 10).then_some(detail),
    }
}

fn person(number: usize, name: &str, role: Coded, relation: &str) -> Person {
    Person {
        id: id(1, number),
        name: name.to_owned(),
        role,
        relation: relation.to_owned(),
        organisation: String::new(),
        from: date(2021, 9, 1),
        to: None,
    }
}

/// A record of so many years, as a vision teacher with every consent reads it.
pub(crate) fn record(years: usize) -> Record {
    let start = date(2021, 9, 6);
    let day = |number: i64| start.saturating_add(number.days());
    let year = |number: usize| start.saturating_add(i64::try_from(number).unwrap_or(0).years());
    let weeks = years * 36;
    let of_week = |number: usize, each: usize| day(i64::try_from(number / each * 7).unwrap_or(0));
    Record {
        student: Student {
            id: id(0, 1),
            number: Some("S-0003".to_owned()),
            name: "Ifeoma Invented-Okafor".to_owned(),
            initials_only: false,
            birth_date: Some(date(2012, 3, 11)),
            languages: "English".to_owned(),
        },
        owner: "Invented District Vision Service".to_owned(),
        people: vec![
            person(0, "Ottoline Brask", coded("vision_teacher", "vision teacher"), ""),
            person(1, "Anselm Quigley", coded("classroom_teacher", "classroom teacher"), ""),
            person(2, "Ignatius Farrow", coded("clinician", "clinician"), ""),
            person(3, "Solveig Ashdown-Lal", coded("parent", "parent"), "mother"),
        ],
        evaluations: (0..years).map(|number| evaluation(number, year(number))).collect(),
        prescriptions: (0..years).map(|number| prescription(number, years, year(number))).collect(),
        devices: vec![
            Device {
                id: id(5, 0),
                own: false,
                tag: "LOAN-014".to_owned(),
                named: telescope(),
                received_on: None,
                condition: None,
                prescription_id: None,
                in_error: false,
            },
            Device {
                id: id(5, 1),
                own: true,
                tag: String::new(),
                named: magnifier(),
                received_on: Some(date(2022, 3, 4)),
                condition: Some(coded("new", "new")),
                prescription_id: Some(id(4, 0)),
                in_error: false,
            },
        ],
        loans: (0..years)
            .map(|number| Loan {
                id: id(6, number),
                device_id: id(5, 0),
                tag: "LOAN-014".to_owned(),
                track: Track::Distance,
                eye: RIGHT,
                lent_on: year(number),
                due_on: year(number).saturating_add(60.days()),
                returned_on: (number + 1 < years).then(|| year(number).saturating_add(50.days())),
                condition_out: coded("good", "good"),
                condition_in: None,
                purpose: coded("trial", "trial"),
                held_by: coded("student", "the student"),
                agreed_by: coded("parent", "a parent"),
                home_use: true,
                in_error: false,
                version: 1,
            })
            .collect(),
        sessions: (0..weeks * 2).map(|number| session(number, of_week(number, 2))).collect(),
        observations: (0..weeks * 4).map(|number| observation(number, of_week(number, 4))).collect(),
        tasks: vec![Task {
            id: id(10, 0),
            name: "Science board".to_owned(),
            kind: coded("board_words", "words on the board"),
            track: Track::Distance,
            goal: coded("copy", "copy"),
            place: "Room 12".to_owned(),
            distance_m: Some(5.2),
            distance_typed: "5.2 m".to_owned(),
            x_height_mm: Some(35.0),
            x_height_typed: "3.5 cm".to_owned(),
        }],
        goals: vec![Goal {
            goal: coded("copy", "copy"),
            reserve: 2.8,
            typed: "2.8".to_owned(),
            source: "comfortable print over threshold print".to_owned(),
            by: "Ottoline Brask".to_owned(),
            on: start,
        }],
        consents: vec![Consent {
            id: id(11, 0),
            direction: coded("school_to_clinic", "from the school to the clinic"),
            categories: vec![coded("training", "readiness and training"), coded("summary", "training summaries")],
            purpose: "To choose a device.".to_owned(),
            from: "Invented District Vision Service".to_owned(),
            to: "Harbour Lane Low Vision".to_owned(),
            start,
            end: Some(year(years)),
            withdrawn: Some(day(400)),
            signer: "Solveig Ashdown-Lal, mother".to_owned(),
            given: coded("on_screen", "on screen"),
            language: "en".to_owned(),
            signed_at: at(start),
        }],
        summaries: (0..years)
            .map(|number| Summary {
                id: id(12, number),
                track: Track::Distance,
                from: year(number),
                to: year(number + 1),
                parts: vec![
                    ("The teacher's account".to_owned(), "Reads <the board> & copies.\nMost days.".to_owned()),
                    ("Questions to the clinician".to_owned(), "Is 6x enough?".to_owned()),
                ],
                author_id: id(1, 0),
                sent_at: at(year(number + 1)),
                in_error: false,
            })
            .collect(),
        decisions: vec![Decision {
            id: id(13, 0),
            track: Track::Distance,
            choice: coded("finalise", "finalise"),
            reason: "Reads the board from the second row.".to_owned(),
            on: day(200),
            next_on: Some(day(500)),
            by: "Ignatius Farrow".to_owned(),
            summary_id: Some(id(12, 0)),
            in_error: false,
        }],
        posts: (0..weeks * 2)
            .map(|number| Post {
                id: id(14, number),
                kind: coded("note", "note"),
                to: None,
                answers: None,
                body: "Brought it to the museum.".to_owned(),
                at: at(of_week(number, 2)),
                author_id: id(1, 3),
                in_error: false,
            })
            .collect(),
        amendments: vec![Amended {
            kind: coded("prescription", "prescription"),
            record_id: id(4, 0),
            field: "Limits".to_owned(),
            before: String::new(),
            after: "+ sitting only".to_owned(),
            reason: "It was forgotten.".to_owned(),
            at: at(day(3)),
            by: "Ignatius Farrow".to_owned(),
        }],
        disclosures: (0..weeks * 2)
            .map(|number| Disclosure {
                at: at(of_week(number, 2)),
                recipient: "Ignatius Farrow".to_owned(),
                organisation: "Harbour Lane Low Vision".to_owned(),
                to_side: coded("clinic", "clinic"),
                what: "Training".to_owned(),
                basis: "consent".to_owned(),
                channel: "screen".to_owned(),
                refused: false,
            })
            .collect(),
    }
}
