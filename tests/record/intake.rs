//! Six steps that can be left and taken up again.

use crate::people::Person;
use crate::world::World;

/// A name with an apostrophe, an emoji and a part read from right to left.
const ODD_NAME: &str = "Ada O'Neil-\u{5e9}\u{5dc}\u{5d5}\u{5dd} \u{1f642}";

fn identity<'a>(name: &'a str, born: &'a str) -> Vec<(&'a str, &'a str)> {
    vec![
        ("name", name),
        ("number", "IN-204"),
        ("birth_date", born),
        ("school", "Kestrel Ridge"),
        ("grade", "4"),
        ("languages", "English, Somali"),
        ("interpreter", "yes"),
        ("print_format", "print 18 pt"),
        ("print_format", "audio"),
    ]
}

async fn opens_a_record(teacher: &Person, name: &str) -> String {
    let to = teacher.presses("/students/new", "Open the record", &identity(name, "2016-02-29")).await.redirected_to();
    to.strip_suffix("/intake/eyes").expect("the next step").to_owned()
}

#[tokio::test]
async fn a_record_is_opened_left_and_taken_up_again_with_everything_as_typed() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let student = opens_a_record(&teacher, ODD_NAME).await;
    let eyes = format!("{student}/intake/eyes");
    let fields = [
        ("referral_source", "parent"),
        ("referral_on", "2026-09-02"),
        ("concerns", "moves_close"),
        ("concerns", "tires"),
        ("eye_report_on", "2025-03-01"),
        ("eye_report_note", "Dr Lund, in the blue file"),
        ("glasses", "has_wears"),
        ("near_distance", "3 1/2 in"),
        ("tires_after", "20"),
        ("student_words", "I can't see the clock \u{1f622}"),
    ];
    let next = teacher.presses(&eyes, "Save and go on", &fields).await.redirected_to();
    assert_eq!(next, format!("{student}/intake/tasks"));
    // Left here, and opened again another day.
    world.days_later(3).await;
    let page = teacher.opens(&eyes).await.ok().sees("more than 12 months old");
    assert_eq!(page.value_of("near_distance").as_deref(), Some("3 1/2 in"));
    assert_eq!(page.value_of("student_words").as_deref(), Some("I can't see the clock \u{1f622}"));
    let whole = teacher.opens(&format!("{student}/intake")).await.ok().sees(ODD_NAME).sees("10 years old");
    whole.sees("moves close, tires soon").sees("Not released yet").sees("29 February 2016");
}

#[tokio::test]
async fn what_is_wrong_is_said_beside_its_field_and_nothing_is_stored() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let before = world.content().await;
    let long = "n".repeat(10_000);
    for (field, value) in [
        ("name", ""),
        ("name", long.as_str()),
        ("number", ""),
        ("birth_date", "1890-02-03"),
        ("birth_date", "2027-01-01"),
        ("birth_date", "2025-02-29"),
        ("birth_date", "3/4/16"),
    ] {
        let mut fields = identity("Ada Neil", "2016-02-29");
        fields.retain(|(name, _)| *name != field);
        fields.push((field, value));
        let page = teacher.presses("/students/new", "Open the record", &fields).await.refused(field);
        assert_eq!(page.value_of(field).as_deref(), Some(value), "{field} stays as typed");
        assert_eq!(page.value_of("languages").as_deref(), Some("English, Somali"));
    }
    assert_eq!(world.content().await, before);
    let student = opens_a_record(&teacher, "Ada Neil").await;
    teacher.presses("/students/new", "Open the record", &identity("Another", "2014-05-06")).await.refused("number");
    let before = world.content().await;
    for (field, value) in [
        ("referral_on", "1890-01-01"),
        ("near_distance", "9"),
        ("near_distance", "-9 cm"),
        ("head_turn_degrees", "400"),
        ("tires_after", "1e999"),
        ("referral_reason", long.as_str()),
    ] {
        let eyes = format!("{student}/intake/eyes");
        let fields = [(field, value), ("mobility_note", "kerbs")];
        let page = teacher.presses(&eyes, "Save and go on", &fields).await.refused(field);
        assert_eq!(page.value_of("mobility_note").as_deref(), Some("kerbs"));
    }
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn two_people_on_one_step_the_second_sees_both_texts() {
    let world = World::new().await;
    let (first, second) = (world.vision_teacher().await, world.vision_teacher().await);
    let pupil = world.student_of(&first).await;
    world.joins(&second, &pupil, &first).await;
    let (eyes, school) = (pupil.at("/intake/eyes"), pupil.at("/intake/school"));
    let old = second.opens(&eyes).await.ok();
    first
        .presses(&eyes, "Save and go on", &[("tires_after", "20"), ("other_needs", "wears a splint")])
        .await
        .redirected_to();
    let before = world.content().await;
    let page = second.presses_on(&old, "Save and go on", &[("tires_after", "35")]).await.status(409);
    page.sees("20 minutes").sees("35 minutes").sees("wears a splint");
    assert_eq!(world.content().await, before);
    // Another step is another text: it does not stand in the way.
    let plan = second.opens(&school).await.ok();
    first.presses(&eyes, "Save and go on", &[("tires_after", "25")]).await.redirected_to();
    second.presses_on(&plan, "Save the plan", &[("plan_type", "iep")]).await.redirected_to();
    first.opens(&pupil.at("/intake")).await.ok().sees("25 minutes").sees("IEP");
}

#[tokio::test]
async fn a_step_sent_twice_is_stored_once() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let pupil = world.student_of(&teacher).await;
    let step = teacher.opens(&pupil.at("/intake/tasks")).await.ok();
    let fields =
        [("code", "wall_clock"), ("name", "Clock"), ("track", "distance"), ("goal", "name_it"), ("target", "digits")];
    let to = teacher.presses_on(&step, "Add", &fields).await.redirected_to();
    assert_eq!(teacher.presses_on(&step, "Add", &fields).await.redirected_to(), to);
    assert_eq!(world.count("visual_task").await, 1);
}

#[tokio::test]
async fn nobody_but_the_vision_teacher_writes_an_intake_and_a_family_reads_it_once_released() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let pupil = world.student_of(&teacher).await;
    let (parent, classroom, clinician) =
        (world.parent().await, world.classroom_teacher().await, world.clinician().await);
    for person in [&parent, &classroom, &clinician] {
        world.joins(person, &pupil, &teacher).await;
    }
    teacher
        .presses(&pupil.at("/intake/eyes"), "Save and go on", &[("other_needs", "wears a splint")])
        .await
        .redirected_to();
    let (outsider, steward) = (world.vision_teacher().await, world.steward().await);
    let before = world.content().await;
    for person in [&classroom, &clinician, &outsider, &steward] {
        person.opens(&pupil.at("/intake")).await.hidden();
    }
    for person in [&classroom, &clinician, &parent, &outsider, &steward] {
        for step in ["student", "eyes", "tasks", "school", "people", "consent"] {
            let answer = person.submits(&pupil.at(&format!("/intake/{step}")), &[("other_needs", "forged")]).await;
            assert!([403, 404].contains(&answer.code()), "{}", answer.asked());
        }
    }
    parent.opens(&pupil.at("/intake")).await.ok().sees("has not released the intake yet").lacks("splint");
    for person in [&parent, &classroom, &clinician, &steward] {
        assert!([403, 404].contains(&person.opens("/students/new").await.code()));
        let sent = identity("Forged", "2016-02-29");
        assert!([403, 404].contains(&person.submits("/students/new", &sent).await.code()));
    }
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn a_released_intake_keeps_what_stood_before_beside_the_reason() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let pupil = world.student_of(&teacher).await;
    let parent = world.parent().await;
    world.joins(&parent, &pupil, &teacher).await;
    let eyes = pupil.at("/intake/eyes");
    let task =
        [("code", "wall_clock"), ("name", "Clock"), ("track", "distance"), ("goal", "name_it"), ("target", "digits")];
    teacher.presses(&pupil.at("/intake/tasks"), "Add", &task).await.redirected_to();
    teacher.presses(&eyes, "Save and go on", &[("tires_after", "20")]).await.redirected_to();
    let fields = [("question", "Which telescope for the board?"), ("urgency", "before spring")];
    teacher.presses(&pupil.at("/evaluations/request"), "Ask, and release the intake", &fields).await.redirected_to();
    parent.opens(&pupil.at("/intake")).await.ok().sees("Released on").sees("20 minutes");
    teacher.presses(&eyes, "Save and go on", &[("tires_after", "35")]).await.refused("reason");
    let fields = [("tires_after", "35"), ("reason", "timed it again")];
    teacher.presses(&eyes, "Save and go on", &fields).await.redirected_to();
    let page = parent.opens(&pupil.at("/intake")).await.ok();
    page.sees("35 minutes").sees("Before: 20 minutes").sees("timed it again");
}
