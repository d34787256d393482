//! The policy, cell by cell, against `access-table.txt`.

use farpoint::access::action::{Action, Amend, Create, Edit, Export, Read, Sign, Verb};
use farpoint::access::policy::{decide, decide_office};
use farpoint::access::resource::{self, Resource, Row};
use farpoint::access::standing::{Given, Password, Standing, Tie};
use farpoint::access::{Access, Actor, Denied, Reason, Role};
use farpoint::care::consent::{Category, Direction};
use farpoint::care::ids::{AccountId, StudentId};
use uuid::Uuid;

use super::expected::{COLUMNS, Question, Table, VERBS, given, row_named};
use super::worlds::{
    FULL, LIMITED, World, account, asked, best, category_of, in_force, of_age, opposite, other, person, student, way,
};

#[test]
fn every_cell_answers_as_the_table_says_whatever_the_conditions() {
    let table = Table::read();
    let (mut asked, mut granted) = (0, 0);
    for &row in Row::STUDENT {
        for role in COLUMNS {
            let worlds: Vec<(World, Standing)> = World::all(way(role), category_of(row))
                .into_iter()
                .map(|world| (world.clone(), world.standing()))
                .collect();
            for steward in [false, true] {
                let actor = person(role, steward);
                let reading = table.spoken_to(row, role, steward, 'R');
                for (letter, verb) in VERBS {
                    let clauses = table.spoken_to(row, role, steward, letter);
                    for (world, standing) in &worlds {
                        let found = decide(&actor, standing, row, verb);
                        let expected =
                            Question { clauses: &clauses, reading: &reading, role, world, row, verb: letter }.answer();
                        asked += 1;
                        granted += usize::from(found.is_ok());
                        assert_eq!(
                            found.map(|limits| given(&limits)),
                            expected,
                            "{} {letter} {role:?} steward {steward} {world:?}",
                            row.name(),
                        );
                    }
                }
            }
        }
    }
    // Seven ties, six states of consent, four of sending, two of the password.
    assert_eq!(asked, Row::STUDENT.len() * 5 * 2 * 6 * (7 * 6 * 4 * 2));
    assert!(granted > asked / 50, "{granted} of {asked} granted: the loop proves little");
}

#[test]
fn rows_that_are_not_about_a_student_answer_as_the_table_says() {
    let table = Table::read();
    for &row in Row::OFFICE {
        for role in COLUMNS {
            for steward in [false, true] {
                for (letter, verb) in VERBS {
                    for password in [Password::JustEntered, Password::NotEntered] {
                        let world = World { password, ..best(None, Category::Training) };
                        let expected = Question {
                            clauses: &table.spoken_to(row, role, steward, letter),
                            reading: &table.spoken_to(row, role, steward, 'R'),
                            role,
                            world: &world,
                            row,
                            verb: letter,
                        }
                        .answer();
                        let found = decide_office(&person(role, steward), password, row, verb);
                        assert_eq!(
                            found.map(|limits| given(&limits)),
                            expected,
                            "{} {letter} {role:?} steward {steward} {password:?}",
                            row.name(),
                        );
                    }
                }
            }
        }
    }
}

#[test]
fn each_condition_broken_alone_denies() {
    let table = Table::read();
    let mut broken = 0;
    for clause in table.clauses.iter().filter(|each| each.row.about_a_student()) {
        let (row, role) = (clause.row, clause.column);
        let category = category_of(row);
        let whole = best(role, category);
        for (letter, verb) in VERBS.iter().filter(|(letter, _)| clause.verbs.contains(*letter)) {
            let cell = format!("{} {letter} {role:?}", row.name());
            assert!(asked(role, &whole, row, *verb).is_ok(), "{cell}");
            // Where a second clause grants the verb, the exhaustive test decides.
            if table.speaking(row, role, *letter).len() > 1 {
                continue;
            }
            for condition in clause.conditions.chars() {
                for world in breaking(condition, row, role, &whole) {
                    let answer = asked(role, &world, row, *verb);
                    let expected =
                        if condition == 'g' { Denied::Forbidden(Reason::EnterPassword) } else { Denied::Hidden };
                    // A parent's C, say, may fail where R holds by another clause.
                    let softer = Denied::Forbidden(Reason::ReadOnly);
                    let readable = asked(role, &world, row, Verb::Read).is_ok();
                    let expected = if readable && condition != 'g' { softer } else { expected };
                    assert_eq!(answer, Err(expected), "{cell} without {condition}: {world:?}");
                    broken += 1;
                }
            }
        }
    }
    assert!(broken > 250, "only {broken} conditions were broken");
}

/// Worlds in which nothing but this condition has become untrue.
fn breaking(condition: char, row: Row, role: Option<Role>, whole: &World) -> Vec<World> {
    let category = category_of(row);
    let signed = Given::Consent;
    let tied = |tie: Tie| World { tie, ..whole.clone() };
    let consented = |consents| World { consents, ..whole.clone() };
    let mut worlds = match condition {
        'a' => vec![tied(Tie::None), tied(FULL), tied(LIMITED)],
        'k' => vec![tied(Tie::None), tied(Tie::OnTeam), tied(LIMITED), tied(of_age(&[]))],
        'c' | 'n' => vec![consented(vec![]), consented(vec![in_force(signed, opposite(way(role)), category)])],
        'g' => vec![World { password: Password::NotEntered, ..whole.clone() }],
        _ => vec![],
    };
    if row.category().is_some() {
        match condition {
            'k' => worlds.push(tied(of_age(&[other(category)]))),
            'c' => worlds.push(consented(vec![in_force(signed, way(role), other(category))])),
            _ => {}
        }
    }
    worlds
}

#[test]
fn every_row_of_the_program_is_in_the_table_and_parts_belong_to_their_line() {
    let table = Table::read();
    for &row in Row::STUDENT.iter().chain(Row::OFFICE) {
        let spoken_of = table.clauses.iter().any(|clause| clause.row == row);
        assert!(spoken_of, "{} is in no cell", row.name());
        assert_eq!(row_named(row.name()), row);
        if let Some(whole) = row.whole() {
            assert_eq!(row.category(), whole.category(), "{}", row.name());
        }
    }
    let mut titles: Vec<&str> = table.lines.iter().map(|line| line.title.as_str()).collect();
    for line in &table.lines {
        assert_eq!(line.row.category(), line.category, "{}", line.title);
    }
    titles.sort_unstable();
    titles.dedup();
    // 26 rows of the contract with cells of their own, its last-but-one row as
    // five, and the opening of a record. Attachments follow their item.
    assert_eq!(titles.len(), 26 + 5 + 1);
}

#[test]
fn whoever_reads_the_whole_reads_the_part_and_whoever_changes_a_row_reads_it() {
    for &row in Row::STUDENT {
        for role in COLUMNS {
            for world in &World::all(way(role), category_of(row)) {
                let reading = asked(role, world, row, Verb::Read);
                if let (Ok(whole), Some(part)) = (reading, part_of(row)) {
                    let part = asked(role, world, part, Verb::Read).unwrap();
                    assert_eq!(given(&part).reach | given(&whole).reach, given(&part).reach);
                }
                // Archives are not read in here, only taken along.
                if matches!(row, Row::WholeRecord | Row::SealedRecord) {
                    continue;
                }
                for verb in [Verb::Edit, Verb::Amend, Verb::Sign, Verb::Export] {
                    if let Ok(limits) = asked(role, world, row, verb) {
                        let reading = reading.unwrap_or_else(|denied| {
                            panic!("{role:?} may {verb} {} but not read it: {denied}", row.name())
                        });
                        assert!(limits.within(&reading), "{role:?} {verb} {}", row.name());
                        let (acting, reading) = (given(&limits).reach, given(&reading).reach);
                        assert_eq!(acting & !reading, 0, "{role:?} {verb} {}", row.name());
                    }
                }
            }
        }
    }
}

fn part_of(row: Row) -> Option<Row> {
    Row::STUDENT.iter().copied().find(|part| part.whole() == Some(row))
}

/// Runs `$check::<Marker>($argument)` for the marker of every row about a student.
macro_rules! each_resource {
    ($check:ident($argument:expr)) => {{
        let rows = each_resource!(@ $check, $argument,
            Identity, Glimpse, Initials, Contacts, AccessLimits, AccessLimitFlag, Intake,
            EvaluationRequest, RequestDate, Stage, Consents, Emergency, VisualTasks, TaskGlimpse,
            ClassObservation, HomeObservation, Evaluation, Transcription, DocumentDates, Loans,
            Receipt, Repair, LoanDecision, LoanGlimpse, Training, Guidance, Card, TryAtHome,
            Summary, Prescription, Thread, SafetyFlag, FlagKind, Pause, Visits, VisitTimes, Team,
            DisclosureRecord, WholeRecord, SealedRecord);
        assert_eq!(rows, Row::STUDENT, "a row has no marker in this list");
    }};
    (@ $check:ident, $argument:expr, $($marker:ident),+) => {
        vec![$($check::<resource::$marker>($argument)),+]
    };
}

#[test]
fn nobody_gets_another_students_anything() {
    for role in COLUMNS {
        let world = World {
            consents: Category::ALL
                .iter()
                .flat_map(|&each| Direction::ALL.iter().map(move |&way| in_force(Given::Consent, way, each)))
                .collect(),
            ..best(role, Category::Training)
        };
        each_resource!(only_the_right_pair((role, &world)));
    }
}

/// A standing opens nothing for another student, nor for another account, nor
/// without a membership.
fn only_the_right_pair<R: Resource>((role, world): (Option<Role>, &World)) -> Row {
    every_action_is_hidden::<R>(role, world, StudentId::of(Uuid::from_u128(9)), account());
    every_action_is_hidden::<R>(role, world, student(), AccountId::of(Uuid::from_u128(9)));
    let impostor = Actor { account: AccountId::of(Uuid::from_u128(9)), ..person(role, role.is_none()) };
    for (_, verb) in VERBS {
        let answer = decide(&impostor, &world.standing(), R::ROW, verb);
        assert_eq!(answer, Err(Denied::Hidden), "{role:?}");
    }
    if role.is_some() {
        let stranger = World { tie: Tie::None, ..world.clone() };
        every_action_is_hidden::<R>(role, &stranger, student(), account());
    }
    R::ROW
}

fn every_action_is_hidden<R: Resource>(role: Option<Role>, world: &World, student: StudentId, account: AccountId) {
    fn hidden<R: Resource, A: Action>(role: Option<Role>, world: &World, student: StudentId, account: AccountId) {
        let actor = Actor { account, ..person(role, role.is_none()) };
        let answer = Access::<R, A>::grant(&actor, student, &world.standing());
        assert_eq!(answer.map(|proof| proof.row()), Err(Denied::Hidden), "{role:?}");
    }
    hidden::<R, Create>(role, world, student, account);
    hidden::<R, Read>(role, world, student, account);
    hidden::<R, Edit>(role, world, student, account);
    hidden::<R, Amend>(role, world, student, account);
    hidden::<R, Sign>(role, world, student, account);
    hidden::<R, Export>(role, world, student, account);
}
