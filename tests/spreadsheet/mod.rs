//! Observations from a teacher's spreadsheet: every row is looked at first, nothing
//! is half stored, and nothing is stored twice.

use farpoint::care::task::TaskCode;

use crate::capability::around::Circle;
use crate::page::Page;
use crate::people::Person;
use crate::world::World;

const LOOK: &str = "Look at the rows";
const ADD: &str = "Add these rows";
const HEADS: &str = "Day,Task,Device out,Result,Right,Tried,Distance,Letter height,Help,Note";

fn at(circle: &Circle) -> String {
    circle.pupil.at("/observations/from-spreadsheet")
}

async fn looks(person: &Person, circle: &Circle, sheet: &str) -> Page {
    person.presses(&at(circle), LOOK, &[("pasted", sheet)]).await
}

/// Three rows about two things, in words of the form.
fn three() -> String {
    [
        HEADS,
        "2026-09-14,Sums on the board,\"not needed, or there is none\",,3,8,,,alone,red on white",
        "14 September 2026,sums on the board,not needed,most,,,17 ft,3.5 cm,with help,",
        "2026-09-15,Worksheet,not_needed,All of it,,,,,,\"one, two\nlines\"",
    ]
    .join("\r\n")
}

#[tokio::test]
async fn a_sheet_is_looked_at_and_added_at_once_and_never_twice() {
    let world = World::new().await;
    let circle = world.circle().await;
    world.task(&circle, TaskCode::BoardMaths, "Sums on the board").await;
    let before = world.content().await;
    let page = looks(&circle.class, &circle, &three()).await.ok();
    let page = page.sees("3 rows can be added.").sees("Nothing is stored yet.");
    assert_eq!(world.content().await, before, "looking stores nothing");
    let answer = circle.class.presses_on(&page, ADD, &[]).await;
    assert_eq!(answer.redirected_to(), circle.pupil.at("/observations"));
    let list = circle.class.opens(&circle.pupil.at("/observations")).await.ok();
    list.sees("3 of 8 right").sees("Most, more than half but not all right").sees("Worksheet");
    assert_eq!(world.count("observation").await, 3);
    // What was left empty is taken from the task, as by the form.
    let entries = circle.class.opens(&circle.pupil.at("/observations")).await.ok().links();
    let mut copied = 0;
    for (href, _) in entries.iter().filter(|(_, words)| words == "Sums on the board") {
        let page = circle.class.opens(href).await.ok();
        copied += usize::from(page.seen().contains("5.2 m (from the task)"));
    }
    assert_eq!(copied, 1);
    circle.teacher.opens(&circle.pupil.at("/thread")).await.ok().sees("Observation in class recorded");

    // The same sheet again, by its writer, by somebody else, and in another order of
    // columns: nothing is added, and it says so.
    let kept = world.content().await;
    let again = looks(&circle.class, &circle, &three()).await.ok();
    again.sees("Every row was added before. Nothing is added again.").lacks(ADD);
    looks(&circle.teacher, &circle, &three()).await.ok().sees("Every row was added before.");
    circle.class.submits(&format!("{}/add", at(&circle)), &[("sheet", &three())]).await.ok().lacks(ADD);
    let turned = "Result,Device out,Task,Day\nAll of it,not_needed,Worksheet,2026-09-16\n";
    let page = looks(&circle.class, &circle, turned).await.ok().sees("1 row can be added.");
    assert_eq!(world.content().await, kept);
    circle.class.presses_on(&page, ADD, &[]).await.redirected_to();
    // One new row below the old ones adds that one.
    let longer = format!("{}\r\n2026-09-16,Worksheet,not needed,none of it,,,,,,\r\n", three());
    let page = looks(&circle.class, &circle, &longer).await.ok();
    let page = page.sees("1 row can be added. 3 rows were added before and are not added again.");
    circle.class.presses_on(&page, ADD, &[]).await.redirected_to();
    assert_eq!(world.count("observation").await, 5);
}

#[tokio::test]
async fn one_faulty_row_is_named_and_nothing_is_stored() {
    let world = World::new().await;
    let circle = world.circle().await;
    world.task(&circle, TaskCode::BoardMaths, "Sums on the board").await;
    let before = world.content().await;
    let good = "2026-09-14,Worksheet,not needed,all of it,,,,,,";
    let cases = [
        ("09/14/2026,Worksheet,not needed,all of it,,,,,,", "Day: Write the day as year, month, day"),
        ("2027-01-01,Worksheet,not needed,all of it,,,,,,", "Day: The day must lie between"),
        (",Worksheet,not needed,all of it,,,,,,", "Day: Write the day"),
        ("2026-09-14,Juggling,not needed,all of it,,,,,,", "Task: \u{201c}Juggling\u{201d} is none of"),
        ("2026-09-14,Worksheet,perhaps,all of it,,,,,,", "Device out: \u{201c}perhaps\u{201d} is none of"),
        ("2026-09-14,Worksheet,yes,all of it,,,,,,", "Device out: No device is in hand that day."),
        ("2026-09-14,Worksheet,not needed,,9,8,,,,", "Right: No more can be right than were tried: 8."),
        ("2026-09-14,Worksheet,not needed,,3,0,,,,", "Tried: Tried must be a whole number from 1 to 200."),
        ("2026-09-14,Worksheet,not needed,all of it,,,30,,,", "Distance: From how far: add the unit to 30"),
        ("2026-09-14,Worksheet,not needed,all of it,,,900 m,,,", "900 m is farther than anything is seen from"),
        ("2026-09-14,Worksheet,not needed,all of it,,,3 m 5 in,,,", "write feet before inches"),
        ("2026-09-14,Worksheet,not needed,all of it,,,,,,=HYPERLINK(1)", "Note: The cell begins like a formula"),
        ("2026-09-14,Worksheet,not needed,all of it,,,@A1,,,", "Distance: The cell begins like a formula"),
        ("+1,Worksheet,not needed,all of it,,,,,,", "Day: The cell begins like a formula"),
        ("2026-09-14,Worksheet,not needed,#REF!,,,,,,", "Result: The cell holds an error of the spreadsheet"),
        ("2026-09-14,Worksheet,not needed,all of it,,,,,,,more", "It has 11 cells where the head has 10"),
        (",2026-09-14,Worksheet,not needed,all of it,,,,,", "They may be shifted"),
    ];
    for (row, words) in cases {
        let page = looks(&circle.class, &circle, &format!("{HEADS}\n{good}\n{row}\n")).await.status(422);
        let page = page.sees(words).sees("1 row to mend. Nothing is stored.").lacks(ADD);
        assert!(page.table("The rows of your sheet").rows[1][0].contains('3'), "{row}: the row is named");
        let sheet = format!("{HEADS}\n{good}\n{row}\n");
        circle.class.submits(&format!("{}/add", at(&circle)), &[("sheet", &sheet)]).await.status(422);
    }
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn mixed_units_are_refused_with_the_question() {
    let world = World::new().await;
    let circle = world.circle().await;
    world.task(&circle, TaskCode::BoardMaths, "Sums on the board").await;
    let before = world.content().await;
    let row = |height: &str| format!("2026-09-14,Class chart,not needed,,3,8,3 m,{height},,");
    let sheet = [HEADS.to_owned(), row("5 cm"), row("4.5 cm"), row("5 cm"), row("5 mm")].join("\n");
    let page = looks(&circle.class, &circle, &sheet).await.status(422);
    page.sees("Letter height: 5 mm or 5 cm? The units seem mixed.").sees("1 row to mend");
    // Against the task, where the sheet has one row only.
    let alone = format!("{HEADS}\n2026-09-14,Sums on the board,not needed,,3,8,,3.5 mm,,\n");
    looks(&circle.class, &circle, &alone).await.status(422).sees("3.5 mm or 3.5 cm?");
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn what_is_no_such_sheet_is_refused_as_a_whole() {
    let world = World::new().await;
    let circle = world.circle().await;
    let before = world.content().await;
    let many = format!("{HEADS}\n{}", "2026-09-14,Worksheet,not needed,all of it,,,,,,\n".repeat(301));
    let cases = [
        ("", "There is nothing in it."),
        ("Day,Task,Device out\n", "It has heads and no rows below them."),
        ("Day,Task,Result\n2026-09-14,Worksheet,all\n", "The column \u{201c}Device out\u{201d} is missing."),
        ("Day,Task,Device out,Colour\n1,2,3,4\n", "Column 4 is called \u{201c}Colour\u{201d}"),
        ("Day,Task,Device out,day\n1,2,3,4\n", "Two columns are called \u{201c}Day\u{201d}"),
        ("Day,Task,Device out,Note\n1,2,3,\"open\n", "Row 2 cannot be read"),
        (many.as_str(), "It is too large."),
    ];
    for (sheet, words) in cases {
        let page = looks(&circle.class, &circle, sheet).await.status(422).sees(words);
        let kept = page.value_of("pasted").unwrap_or_default().replace("\r\n", "\n");
        assert_eq!(kept.trim_end(), sheet.trim_end(), "what was pasted is kept");
    }
    for (name, bytes) in [("notes.xlsx", &b"PK\x03\x04\0\0\xff\xfe"[..]), ("notes.csv", b"\xff\xfeD\0a\0y\0")] {
        let page = circle.class.uploads(&at(&circle), LOOK, (name, bytes)).await.status(422);
        page.sees("This is not a text file.").lacks(name);
    }
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn a_file_as_a_spreadsheet_writes_it_is_read() {
    let world = World::new().await;
    let circle = world.circle().await;
    let empty = circle.class.opens(&format!("{}/empty", at(&circle))).await;
    assert!(empty.header("content-type").starts_with("text/csv"));
    let heads = empty.source().trim_start_matches('\u{feff}').trim_end().to_owned();
    assert!(heads.starts_with("Day,Task,Device out") && heads.ends_with(",Note"), "{heads}");
    // With semicolons, as where a comma marks decimals, and a byte order mark.
    let cells: Vec<&str> = heads
        .split(',')
        .map(|head| match head {
            "Day" => "14.09.2026",
            "Task" => "Class chart",
            "Device out" => "not needed",
            "Right" => "3",
            "Tried" => "8",
            "Distance" => "2,5 m",
            "Letter height" => "2,5 cm",
            _ => "",
        })
        .collect();
    let file = format!("\u{feff}{}\r\n{}\r\n", heads.replace(',', ";"), cells.join(";"));
    let page = circle.class.uploads(&at(&circle), LOOK, ("autumn.csv", file.as_bytes())).await.ok();
    let page = page.sees("1 row can be added.").lacks("autumn.csv");
    circle.class.presses_on(&page, ADD, &[]).await.redirected_to();
    let list = circle.class.opens(&circle.pupil.at("/observations")).await.ok();
    let entry = list.link("Chart on the classroom wall");
    circle.class.opens(&entry).await.ok().sees("3 of 8 right at 2.5 cm from 2.5 m");
    // The page tells every head of the empty sheet.
    let page = circle.class.opens(&at(&circle)).await.ok();
    for head in heads.split(',') {
        assert!(page.seen().contains(head), "{head} is not explained");
    }
}

#[tokio::test]
async fn a_sheet_is_for_those_who_add_what_was_seen_in_class() {
    let world = World::new().await;
    let circle = world.circle().await;
    for person in [&circle.parent, &circle.clinician] {
        let page = person.opens(&at(&circle)).await;
        assert!([403, 404].contains(&page.code()));
        person.opens(&circle.pupil.at("/observations")).await.lacks("Add from a spreadsheet");
        let before = world.content().await;
        let answer = person.submits(&format!("{}/add", at(&circle)), &[("sheet", &three())]).await;
        assert!([403, 404].contains(&answer.code()));
        assert_eq!(world.content().await, before);
    }
    circle.class.opens(&circle.pupil.at("/observations")).await.ok().sees("Add from a spreadsheet");
    // A vision teacher adds what was seen at school, and not what was seen at home.
    let home = "Day,Task,Device out,Result,Where\n2026-09-14,Worksheet,not needed,all of it,At home\n";
    looks(&circle.teacher, &circle, home).await.status(422).sees("Where:");
    let school = "Day,Task,Device out,Result,Where\n2026-09-14,Worksheet,not needed,all of it,Gym\n";
    let page = looks(&circle.teacher, &circle, school).await.ok();
    circle.teacher.presses_on(&page, ADD, &[]).await.redirected_to();
    assert_eq!(world.count("observation").await, 1);
}
