//! The site's records officer: accounts, settings, and the first of them.

use std::io::Write;
use std::process::{Command, Output, Stdio};

use jiff::SignedDuration;

use crate::people::{PASSWORD, Person};
use crate::world::World;

const NEW_PASSWORD: &str = "three geese over the mill";

fn a_clinician(sign_in: &str) -> Vec<(&str, &str)> {
    vec![
        ("role", "clinician"),
        ("name", "Petronella Odd 💧"),
        ("sign_in", sign_in),
        ("clinic", "Harbour Lane Low Vision"),
        ("credential", "OD"),
        ("licence", "Invented licence 78"),
        ("password", NEW_PASSWORD),
        ("password_again", NEW_PASSWORD),
    ]
}

async fn account_line(steward: &Person, name: &str) -> Vec<String> {
    let table = steward.opens("/steward").await.ok().table("Everybody who can sign in");
    table.rows.into_iter().find(|row| row[1] == name).unwrap_or_else(|| panic!("no account {name}"))
}

#[tokio::test]
async fn the_site_does_not_exist_for_anybody_else() {
    let world = World::new().await;
    let steward = world.steward().await;
    steward.enters_password_again().await;
    steward.opens("/steward").await.ok();
    let target = steward.actor().account;
    let others =
        [world.vision_teacher().await, world.classroom_teacher().await, world.parent().await, world.clinician().await];
    let before = world.content().await;
    for person in others {
        person.opens("/steward").await.hidden();
        person.submits("/steward/accounts", &a_clinician("petronella")).await.hidden();
        person.submits(&format!("/steward/accounts/{target}"), &[("open", "no"), ("version", "1")]).await.hidden();
        person.submits("/steward/settings", &[("owner", "Me")]).await.hidden();
    }
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn an_account_is_made_once_the_password_was_entered_again() {
    let world = World::new().await;
    let steward = world.steward().await;
    let before = world.content().await;
    let fields = a_clinician("petronella");
    for answer in [steward.opens("/steward").await, steward.submits("/steward/accounts", &fields).await] {
        let way = answer.forbidden().sees("Enter your password again").link("Enter the password");
        assert_eq!(way, "/confirm");
    }
    assert_eq!(world.content().await, before);

    steward.enters_password_again().await;
    let page = steward.opens("/steward").await.ok();
    steward.presses_on(&page, "Make the account", &fields).await.redirected_to();
    assert_eq!(account_line(&steward, "petronella").await[0], "Petronella Odd 💧");
    let count = world.count("account").await;
    // The same form again, as a double click sends it.
    assert_eq!(steward.presses_on(&page, "Make the account", &fields).await.redirected_to(), "/steward");
    assert_eq!(world.count("account").await, count);

    let credentials = [("sign_in", "petronella"), ("password", NEW_PASSWORD)];
    world.stranger().presses("/sign-in", "Sign in", &credentials).await.redirected_to();
    steward.presses("/steward", "Make the account", &fields).await.refused("sign_in");

    world.passes(SignedDuration::from_mins(11));
    steward.presses_on(&page, "Make the account", &a_clinician("too-late")).await.forbidden();
}

#[tokio::test]
async fn what_is_missing_is_said_beside_its_field_and_everything_typed_stays() {
    let world = World::new().await;
    let steward = world.steward().await;
    steward.enters_password_again().await;
    let before = world.content().await;
    let long = "n".repeat(10_000);
    for (field, value) in [
        ("name", ""),
        ("name", long.as_str()),
        ("sign_in", "a\u{0}b"),
        ("clinic", ""),
        ("licence", ""),
        ("password", "short"),
        ("password_again", "another one entirely"),
    ] {
        let mut fields = a_clinician("petronella");
        fields.retain(|(name, _)| *name != field);
        fields.push((field, value));
        let page = steward.presses("/steward", "Make the account", &fields).await.refused(field);
        assert_eq!(page.value_of("credential").as_deref(), Some("OD"));
        page.lacks(NEW_PASSWORD);
    }
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn a_closed_account_is_out_at_once_and_comes_back_when_reopened() {
    let world = World::new().await;
    let (steward, teacher) = (world.steward().await, world.vision_teacher().await);
    let path = format!("/steward/accounts/{}", teacher.actor().account);
    let version = |page: &crate::page::Page| page.value_near(&path, "version").expect("a version");
    teacher.opens("/account").await.ok();

    steward.submits(&path, &[("open", "no"), ("version", "1")]).await.forbidden();
    teacher.opens("/account").await.ok();
    steward.enters_password_again().await;
    let page = steward.opens("/steward").await.ok();
    let close = [("open", "no"), ("version", &version(&page))];
    steward.submits(&path, &close).await.redirected_to();
    assert_eq!(teacher.opens("/account").await.redirected_to(), "/sign-in");
    let credentials = [("sign_in", teacher.sign_in.as_str()), ("password", PASSWORD)];
    teacher.presses("/sign-in", "Sign in", &credentials).await.refused("sign_in");
    assert!(account_line(&steward, &teacher.sign_in).await[4].starts_with("closed"));

    // A page from before the change does not undo it.
    steward.submits(&path, &close).await.status(409);
    let page = steward.opens("/steward").await.ok();
    steward.submits(&path, &[("open", "yes"), ("version", &version(&page))]).await.redirected_to();
    teacher.signs_in().await;
}

#[tokio::test]
async fn nobody_closes_their_own_account_and_no_other_address_is_an_account() {
    let world = World::new().await;
    let steward = world.steward().await;
    steward.enters_password_again().await;
    let before = world.content().await;
    let close = [("open", "no"), ("version", "1")];
    steward.submits(&format!("/steward/accounts/{}", steward.actor().account), &close).await.forbidden();
    for odd in ["not-an-id", "1", "%00", "..%2F..", "0198f0a0-0000-7000-8000-000000000000"] {
        steward.submits(&format!("/steward/accounts/{odd}"), &close).await.hidden();
    }
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn settings_are_kept_and_nonsense_is_refused() {
    let world = World::new().await;
    let steward = world.steward().await;
    let wanted = [("owner", "Kestrel Ridge Unified"), ("help", "Hildegard, x 4411"), ("emergency_number", "911")];
    let with = |months: &'static str| [&wanted[..], &[("evaluation_months", months)]].concat();
    steward.enters_password_again().await;
    let before = world.content().await;
    for months in ["0", "-3", "1e999", "twelve", "25", ""] {
        let page = steward.presses("/steward", "Save the settings", &with(months)).await.refused("evaluation_months");
        assert_eq!(page.value_of("evaluation_months").as_deref(), Some(months));
        assert_eq!(page.value_of("owner").as_deref(), Some("Kestrel Ridge Unified"));
    }
    assert_eq!(world.content().await, before);
    steward.presses("/steward", "Save the settings", &with("9")).await.redirected_to();
    let page = steward.opens("/steward").await.ok();
    assert_eq!(page.value_of("evaluation_months").as_deref(), Some("9"));
    world.stranger().opens("/help").await.ok().sees("Hildegard, x 4411");
}

fn farpoint(arguments: &[&str], typed: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_farpoint"))
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    // A program that refuses before it reads closes its end; that is no failure.
    let _ = child.stdin.take().map(|mut stdin| stdin.write_all(typed.as_bytes()));
    child.wait_with_output().expect("the program ends")
}

#[tokio::test]
async fn the_first_records_officer_is_made_by_a_command() {
    let world = World::new().await;
    let url = world.url();
    let make = |typed: &str| {
        let arguments =
            ["account", "--database-url", &url, "--name", "Hildegard Pym", "--sign-in", "hildegard", "--steward"];
        farpoint(&arguments, typed)
    };
    let short = make("short\n");
    assert!(!short.status.success());
    assert!(String::from_utf8_lossy(&short.stderr).contains("at least 12 characters"));
    assert_eq!(world.count("account").await, 0);

    let made = make(&format!("{NEW_PASSWORD}\n"));
    assert!(made.status.success(), "{}", String::from_utf8_lossy(&made.stderr));
    assert!(!String::from_utf8_lossy(&made.stdout).contains(NEW_PASSWORD));
    let again = make(&format!("{NEW_PASSWORD}\n"));
    assert!(String::from_utf8_lossy(&again.stderr).contains("--sign-in"));

    let hildegard = world.stranger();
    let credentials = [("sign_in", "hildegard"), ("password", NEW_PASSWORD)];
    hildegard.presses("/sign-in", "Sign in", &credentials).await.redirected_to();
    hildegard.opens("/steward").await.forbidden().sees("Enter your password again");
}

#[test]
fn nonsense_settings_stop_the_start_and_are_named() {
    for (setting, value, says) in [
        ("--listen", "everywhere", "--listen"),
        ("--time-zone", "Mars/Olympus", "America/Denver"),
        ("--public-url", "ftp://x", "https://"),
        ("--hash-memory-kib", "1", "--hash-memory-kib"),
        ("--hash-passes", "0", "--hash-passes"),
        ("--sign-in-burst", "0", "--sign-in-burst"),
        ("--database-url", "mysql://x", "sqlite: or postgres:"),
    ] {
        let output = farpoint(&["migrate", setting, value], "");
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(!output.status.success() && said.contains(says), "{setting} {value}: {said}");
    }
}
