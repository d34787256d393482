//! A thread that has everything, walked by every role: what each must not see.

use farpoint::care::consent::Direction;

use super::titles;
use crate::lap::{DISTANCE, Step, Team};
use crate::world::World;

/// A student who went round to the prescription, and everybody said something.
async fn everything(world: &World) -> Team {
    let team = Team::up_to(world, &DISTANCE, Step::Prescribed).await;
    team.releases_card().await;
    team.releases_try_at_home(&DISTANCE).await;
    let thread = team.at("/thread");
    for (person, to, body) in [
        (&team.teacher, "note", "NOTE-OF-THE-TEACHER"),
        (&team.teacher, "clinician", "QUESTION-TO-THE-CLINIC"),
        (&team.parent, "classroom_teacher", "QUESTION-TO-THE-CLASS"),
        (&team.classroom, "vision_teacher", "QUESTION-OF-THE-CLASS"),
        (&team.clinician, "note", "NOTE-OF-THE-CLINIC"),
    ] {
        world.passes(jiff::SignedDuration::from_mins(1));
        person.presses(&thread, "Send", &[("to", to), ("body", body)]).await.redirected_to();
    }
    let words = [("said_words", "WORDS-BY-THE-PARENT"), ("said_worked", "worked")];
    team.parent.presses(&team.at("/thread/words"), "Keep these words", &words).await.redirected_to();
    team.parent
        .presses(&team.at("/safety"), "Send the red flag", &[("sign", "rf4"), ("note", "FLAG-NOTE")])
        .await
        .redirected_to();
    world.days_later(2).await;
    team
}

const POSTS: [&str; 6] = [
    "NOTE-OF-THE-TEACHER",
    "QUESTION-TO-THE-CLINIC",
    "QUESTION-TO-THE-CLASS",
    "QUESTION-OF-THE-CLASS",
    "NOTE-OF-THE-CLINIC",
    "WORDS-BY-THE-PARENT",
];

#[tokio::test]
async fn a_classroom_teachers_thread_holds_nothing_of_the_clinic_in_its_source() {
    let world = World::new().await;
    let team = everything(&world).await;
    for path in ["/thread", "/thread?kind=evaluations", "/thread?setting=clinic", ""] {
        let page = team.classroom.opens(&team.at(path)).await.ok();
        let source = page.source().to_lowercase();
        // An address may end an id in 20: only a figure after the stroke is one.
        let fraction = |(at, _): (usize, &str)| source[at + 3..].starts_with(|next: char| next.is_ascii_digit());
        assert!(!source.match_indices("20/").any(fraction), "{path}: an acuity is in the source");
        for word in ["logmar", "10/120", "6x16", "6\u{d7}", "dioptre", "reserve", "acuity", "prescription"] {
            assert!(!source.contains(word), "{path}: \"{word}\" is in the source");
        }
        for body in
            ["NOTE-OF-THE-TEACHER", "QUESTION-TO-THE-CLINIC", "NOTE-OF-THE-CLINIC", "WORDS-BY-THE-PARENT", "FLAG-NOTE"]
        {
            assert!(!page.source().contains(body), "{path}: {body} is in the source");
        }
    }
    let page = team.classroom.opens(&team.at("/thread")).await.ok();
    let page = page.sees("QUESTION-TO-THE-CLASS").sees("QUESTION-OF-THE-CLASS").sees("Classroom card released");
    let shown = titles(&page);
    for line in
        ["Evaluation", "Summary", "Decision", "Prescription", "Loan", "Training", "Readiness", "Consent", "Intake"]
    {
        assert!(shown.iter().all(|title| !title.starts_with(line)), "{line} in {shown:?}");
    }
    assert!(shown.contains(&"Observation in class recorded".to_owned()), "her own entry: {shown:?}");
    assert!(shown.iter().all(|title| !title.contains("at home")), "nobody shared a note: {shown:?}");
}

#[tokio::test]
async fn each_role_reads_the_posts_that_are_its_own_to_read() {
    let world = World::new().await;
    let team = everything(&world).await;
    let thread = team.at("/thread");
    // The vision teacher, the parent and the clinician read all of them while both consents are in force.
    for person in [&team.teacher, &team.parent, &team.clinician] {
        let page = person.opens(&thread).await.ok();
        for body in POSTS {
            assert!(page.seen().contains(body), "{}: {body}", person.name);
        }
    }
    let page = team.clinician.opens(&thread).await.ok();
    assert!(titles(&page).iter().any(|title| title.starts_with("Training session recorded")));
    // A records officer reads nothing of it.
    let steward = world.steward().await;
    steward.opens(&thread).await.hidden();
    steward.opens("/today").await.ok().lacks("new in the thread").lacks("QUESTION");
    // Nor does anybody of another team.
    for stranger in [world.vision_teacher().await, world.parent().await, world.clinician().await] {
        stranger.opens(&thread).await.hidden();
        stranger.submits(&team.at("/thread/unread"), &[("from", "1.a")]).await.hidden();
    }
    // The consents are withdrawn: the clinic reads nothing, the school nothing of the clinic's posts.
    world.withdraws(&team.parent, &team.pupil).await;
    team.clinician.opens(&thread).await.hidden();
    team.clinician.opens("/today").await.ok().lacks("QUESTION-TO-THE-CLINIC").lacks("new in the thread");
    let page = team.teacher.opens(&thread).await.ok().lacks("NOTE-OF-THE-CLINIC").sees("NOTE-OF-THE-TEACHER");
    // What was sent stays in the thread as sent.
    assert!(titles(&page).iter().any(|title| title.starts_with("Evaluation signed")), "{:?}", titles(&page));
    team.parent.opens(&thread).await.ok().sees("NOTE-OF-THE-CLINIC");
}

#[tokio::test]
async fn what_the_student_said_is_proposed_to_the_summary_with_its_day_as_far_as_the_clinic_may_read() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Trained).await;
    let words = [("said_words", "I found it alone!"), ("about", "the board")];
    team.parent.presses(&team.at("/thread/words"), "Keep these words", &words).await.redirected_to();
    let early = [("said_words", "Before the summary's days"), ("said_on", &world.day(-200))];
    team.teacher.presses(&team.at("/thread/words"), "Keep these words", &early).await.redirected_to();
    let draft = team.drafts_summary(&DISTANCE).await;
    let day = world.today().strftime("%-d %B %Y").to_string();
    let page = team
        .teacher
        .opens(&draft)
        .await
        .ok()
        .sees(&format!("\u{201c}I found it alone!\u{201d} ({day}, about the board)"));
    assert_eq!(page.value_of("student_words").unwrap_or_default().trim(), "", "nothing goes in by itself");
    page.lacks("Before the summary");
    // Without a consent toward the clinic there is nothing to propose.
    world.withdraws(&team.parent, &team.pupil).await;
    team.teacher.opens(&draft).await.ok().lacks("I found it alone!");
}

#[tokio::test]
async fn a_parent_with_narrowed_rights_has_no_thread_and_no_question() {
    let world = World::new().await;
    let circle = world.circle().await;
    world.signs_consent(&circle, Direction::SchoolToClinic).await;
    super::writes(&world, &circle, &circle.teacher, "parent", "QUESTION-TO-THE-FAMILY").await;
    circle.parent.opens("/today").await.ok().sees("QUESTION-TO-THE-FAMILY");
    world.limits(&circle.parent, &circle.pupil).await;
    circle.parent.opens("/today").await.ok().lacks("QUESTION-TO-THE-FAMILY").lacks("new in the thread");
    circle.parent.opens(&circle.pupil.at("/thread")).await.status(404).sees("Please ask the school office");
    circle.parent.opens(&circle.pupil.at("/thread/words")).await.status(404).sees("Please ask the school office");
}
