//! What the product promises about access, told one by one.

use farpoint::access::action::{Edit, Read, Verb};
use farpoint::access::policy::decide;
use farpoint::access::resource::{self, OfficeResource, Row};
use farpoint::access::standing::{Categories, Given, Password, Sent};
use farpoint::access::{Access, Basis, Denied, Office, Reason, Role};
use farpoint::care::consent::{Category, Direction};

use super::expected::VERBS;
use super::worlds::{
    FULL, World, account, asked, best, category_of, consent, emergency, in_force, of_age, person, student,
};

const NO_ROLE: Option<Role> = None;

#[test]
fn a_classroom_teacher_never_gets_the_clinical_side() {
    let never = [
        Row::Evaluation,
        Row::Transcription,
        Row::Intake,
        Row::EvaluationRequest,
        Row::Summary,
        Row::Prescription,
        Row::Training,
        Row::Guidance,
        Row::Stage,
        Row::Consents,
        Row::Contacts,
    ];
    let role = Some(Role::ClassroomTeacher);
    for row in never {
        for way in Direction::ALL {
            for world in World::all(*way, category_of(row)) {
                for (_, verb) in VERBS {
                    assert_eq!(asked(role, &world, row, verb), Err(Denied::Hidden), "{row:?}");
                }
            }
        }
    }
}

#[test]
fn a_steward_sees_names_stages_and_dates_and_no_content() {
    let content = [
        Row::Intake,
        Row::EvaluationRequest,
        Row::VisualTasks,
        Row::ClassObservation,
        Row::HomeObservation,
        Row::Evaluation,
        Row::Transcription,
        Row::Training,
        Row::Guidance,
        Row::Card,
        Row::TryAtHome,
        Row::Summary,
        Row::Prescription,
        Row::Thread,
        Row::SafetyFlag,
        Row::FlagKind,
    ];
    let world = best(NO_ROLE, Category::Training);
    for row in content {
        for (_, verb) in VERBS {
            assert_eq!(asked(NO_ROLE, &world, row, verb), Err(Denied::Hidden), "{row:?}");
        }
    }
    for row in [Row::Identity, Row::Stage, Row::RequestDate, Row::DocumentDates, Row::Pause] {
        assert!(asked(NO_ROLE, &world, row, Verb::Read).is_ok(), "{row:?}");
    }
}

#[test]
fn the_stewards_flag_does_not_open_what_the_role_lacks() {
    // On the team as a classroom teacher and steward besides: still no evaluation.
    let world = best(Some(Role::ClassroomTeacher), Category::Evaluation);
    let actor = person(Some(Role::ClassroomTeacher), true);
    let answer = decide(&actor, &world.standing(), Row::Evaluation, Verb::Read);
    assert_eq!(answer, Err(Denied::Hidden));
    assert!(decide(&actor, &world.standing(), Row::DocumentDates, Verb::Read).is_ok());
}

#[test]
fn a_summary_stays_readable_as_sent_when_the_consent_is_withdrawn() {
    let clinician = Some(Role::Clinician);
    let sent = vec![Sent { direction: Direction::SchoolToClinic, category: Category::Summary }];
    let before = World { sent, ..best(clinician, Category::Summary) };
    let reading = asked(clinician, &before, Row::Summary, Verb::Read).unwrap();
    assert!(!reading.sent_only);
    assert_eq!(reading.crossing.and_then(|crossing| crossing.consent()), Some(consent()));

    let withdrawn = World { consents: vec![], ..before };
    let reading = asked(clinician, &withdrawn, Row::Summary, Verb::Read).unwrap();
    assert!(reading.sent_only && reading.released_only);
    assert_eq!(reading.crossing.map(|crossing| crossing.basis), Some(Basis::AsSent));
    // Live pages answer as if they did not exist.
    for row in [Row::Identity, Row::Stage, Row::Thread, Row::ClassObservation, Row::Training] {
        assert_eq!(asked(clinician, &withdrawn, row, Verb::Read), Err(Denied::Hidden), "{row:?}");
    }
    let initials = asked(clinician, &withdrawn, Row::Initials, Verb::Read);
    assert!(initials.unwrap().crossing.is_none());
}

#[test]
fn a_transcription_once_sent_is_not_confirmed_after_the_consent_ended() {
    let clinician = Some(Role::Clinician);
    let sent = vec![Sent { direction: Direction::SchoolToClinic, category: Category::Evaluation }];
    let world = World { sent, consents: vec![], ..best(clinician, Category::Evaluation) };
    let answer = asked(clinician, &world, Row::Transcription, Verb::Sign);
    assert_eq!(answer, Err(Denied::Forbidden(Reason::ReadOnly)));
}

#[test]
fn an_emergency_opens_its_one_category_and_is_the_named_basis() {
    let clinician = Some(Role::Clinician);
    let opened = in_force(Given::Emergency, Direction::SchoolToClinic, Category::Devices);
    let world = World { consents: vec![opened], ..best(clinician, Category::Devices) };
    let loans = asked(clinician, &world, Row::Loans, Verb::Read).unwrap();
    assert_eq!(loans.crossing.map(|crossing| crossing.basis), Some(Basis::Emergency(emergency())));
    assert_eq!(asked(clinician, &world, Row::Training, Verb::Read), Err(Denied::Hidden));
}

#[test]
fn a_red_flag_crosses_as_its_kind_and_date_without_a_consent() {
    let clinician = Some(Role::Clinician);
    let world = World { consents: vec![], ..best(clinician, Category::Training) };
    let kind = asked(clinician, &world, Row::FlagKind, Verb::Read).unwrap();
    assert_eq!(kind.crossing.map(|crossing| crossing.basis), Some(Basis::Safety));
    assert!(asked(clinician, &world, Row::Pause, Verb::Sign).is_ok());
    // The words of others stay on their side; those of one's own flag do not.
    assert!(asked(clinician, &world, Row::SafetyFlag, Verb::Read).unwrap().own_only);
}

#[test]
fn after_coming_of_age_a_parent_signs_for_no_more_than_the_student_allows() {
    let parent = Some(Role::Parent);
    let world = |tie| World { tie, ..best(parent, Category::Training) };
    let signing = |tie| asked(parent, &world(tie), Row::Consents, Verb::Sign);
    assert_eq!(signing(FULL).unwrap().may_sign, Categories::all());
    let chosen = signing(of_age(&[Category::Devices])).unwrap().may_sign;
    assert_eq!(chosen.iter().collect::<Vec<_>>(), [Category::Devices]);
    assert_eq!(signing(of_age(&[])), Err(Denied::Hidden));
    let vision_teacher = Some(Role::VisionTeacher);
    let on_paper = best(vision_teacher, Category::Training);
    assert!(asked(vision_teacher, &on_paper, Row::Consents, Verb::Sign).unwrap().witnessed);
}

#[test]
fn the_clinicians_posts_wait_for_consent_in_the_vision_teachers_thread() {
    let teacher = Some(Role::VisionTeacher);
    let with = best(teacher, Category::Evaluation);
    assert!(!asked(teacher, &with, Row::Thread, Verb::Read).unwrap().without_clinic_posts);
    let without = World { consents: vec![], ..with };
    assert!(asked(teacher, &without, Row::Thread, Verb::Read).unwrap().without_clinic_posts);
}

#[test]
fn a_proof_for_the_whole_gives_only_the_parts_this_reader_may_read() {
    let clinician = Some(Role::Clinician);
    let world = best(clinician, Category::Training);
    let guidance =
        Access::<resource::Guidance, Read>::grant(&person(clinician, false), student(), &world.standing()).unwrap();
    let training = guidance.part::<resource::Training>().unwrap();
    assert!(training.limits().locked_only);
    assert_eq!(training.student(), student());
    let home = guidance.part::<resource::HomeObservation>();
    assert_eq!(home.map(|proof| proof.row()), Err(Denied::Hidden));
}

#[test]
fn a_proof_to_edit_becomes_one_to_read_that_reaches_no_further() {
    let parent = Some(Role::Parent);
    let world = best(parent, Category::HomeObservations);
    let editing =
        Access::<resource::HomeObservation, Edit>::grant(&person(parent, false), student(), &world.standing()).unwrap();
    assert!(editing.limits().own_only);
    assert_eq!(editing.read().limits(), editing.limits());
    assert!(!editing.part::<resource::HomeObservation>().unwrap().limits().own_only);
}

#[test]
fn an_account_without_role_and_flag_may_do_nothing() {
    fn nothing<R: OfficeResource>() {
        let answer = Office::<R, Read>::grant(&person(NO_ROLE, false), Password::JustEntered);
        assert_eq!(answer.map(|_| ()), Err(Denied::Hidden));
    }
    nothing::<resource::Pool>();
    nothing::<resource::OwnAccount>();
    nothing::<resource::Accounts>();
    nothing::<resource::Audit>();
    let nobody = person(NO_ROLE, false);
    for &row in Row::STUDENT {
        for (_, verb) in VERBS {
            let world = best(NO_ROLE, category_of(row));
            assert_eq!(decide(&nobody, &world.standing(), row, verb), Err(Denied::Hidden));
        }
    }
}

#[test]
fn a_proof_in_a_log_names_nobody() {
    let teacher = Some(Role::VisionTeacher);
    let actor = person(teacher, false);
    let world = best(teacher, Category::Training);
    let proof = Access::<resource::Identity, Read>::grant(&actor, student(), &world.standing());
    let printed = format!("{:?} {actor:?}", proof.unwrap());
    assert!(printed.contains(&account().to_string()), "{printed}");
    assert!(!printed.contains("Robin") && !printed.contains("Quill"), "{printed}");
}
