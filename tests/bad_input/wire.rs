//! What no browser sends: bytes that are no form, fields that are missing, sent
//! twice or made up, tokens of somebody else, addresses that mean nothing.

use axum::body::Body;
use axum::http::{HeaderMap, Method, Request, header};
use tower::ServiceExt;

use super::posts;
use crate::lap::{DISTANCE, Step, Team};
use crate::page::Page;
use crate::people::Person;
use crate::world::World;

/// The forms that these tests bend, with the button of each.
fn forms(team: &Team) -> Vec<(&Person, String, &'static str)> {
    vec![
        (&team.teacher, "/students/new".to_owned(), "Open the record"),
        (&team.teacher, team.at("/intake/eyes"), "Save and go on"),
        (&team.teacher, team.at("/tasks/new"), "Add"),
        (&team.teacher, team.at("/training/new"), "Save the session"),
        (&team.classroom, team.at("/observations/new"), "Save"),
        (&team.parent, team.at("/observations/new"), "Save"),
        (&team.parent, team.at("/people/consent/school_to_clinic"), "Sign"),
        (&team.clinician, team.at("/evaluations/new"), "Begin"),
        (&team.clinician, team.at("/review/distance"), "Sign the decision"),
        (&team.teacher, team.at("/card/edit"), "Save and preview"),
    ]
}

async fn unchanged(world: &World, before: &std::collections::BTreeMap<String, u64>, what: &str) {
    let after = world.content().await;
    // That a page was read is noted.
    let read = ["disclosure", "thread_read"];
    let changed: Vec<_> =
        after.keys().filter(|table| !read.contains(&table.as_str()) && after[*table] != before[*table]).collect();
    assert!(changed.is_empty(), "{what} changed {changed:?}");
}

#[tokio::test]
async fn without_its_token_or_with_another_ones_a_form_is_not_taken() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Trained).await;
    let other = world.vision_teacher().await.opens("/account").await.csrf().expect("a token");
    for (person, path, button) in forms(&team) {
        let (action, pairs) = person.opens(&path).await.ok().filled(button, &[]);
        let before = world.content().await;
        for token in [None, Some(""), Some("x"), Some(other.as_str())] {
            let mut sent: Vec<(String, String)> = pairs.iter().filter(|(name, _)| name != "csrf").cloned().collect();
            sent.extend(token.map(|token| ("csrf".to_owned(), token.to_owned())));
            posts(person, &action, &sent).await.forbidden().sees("This form has run out");
        }
        unchanged(&world, &before, &action).await;
    }
}

#[tokio::test]
async fn an_empty_form_is_answered_beside_its_fields() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Trained).await;
    for (person, path, button) in forms(&team) {
        let (action, pairs) = person.opens(&path).await.ok().filled(button, &[]);
        let keys = ["csrf", "key", "version"];
        let bare: Vec<(String, String)> = pairs.into_iter().filter(|(name, _)| keys.contains(&name.as_str())).collect();
        let before = world.content().await;
        let page = posts(person, &action, &bare).await;
        // A session without a track is no form of ours; a card and an intake may be empty.
        match page.code() {
            422 => assert!(page.source().contains("class=\"fault\""), "{}", page.asked()),
            404 => assert!(action.ends_with("/training/new"), "{}", page.asked()),
            _ => {
                let may_be_empty = ["/card/edit", "/intake/eyes"].iter().any(|end| action.ends_with(end));
                assert!(may_be_empty, "{}\n{}", page.asked(), page.seen());
                continue;
            }
        }
        unchanged(&world, &before, &action).await;
    }
}

#[tokio::test]
async fn a_field_sent_twice_counts_once_and_one_made_up_not_at_all() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    let page = team.teacher.opens(&team.at("/tasks/new")).await.ok();
    let good =
        [("code", "wall_clock"), ("name", "Clock"), ("track", "distance"), ("goal", "name_it"), ("target", "digits")];
    let (action, mut pairs) = page.filled("Add", &good);
    for (name, value) in [
        ("name", "Another"),
        ("track", "near"),
        ("id", "1"),
        ("student_id", "x"),
        ("created_by", "y"),
        ("", "z"),
        ("name[]", "q"),
    ] {
        pairs.push((name.to_owned(), value.to_owned()));
    }
    posts(&team.teacher, &action, &pairs).await.redirected_to();
    let page = team.teacher.opens(&team.at("/tasks")).await.ok();
    page.sees("Clock").lacks("Another");
}

/// Sends these bytes under this kind, with the person's cookies.
async fn sends_bytes(world: &World, cookies: &str, (method, path): (Method, &str), kind: &str, bytes: Vec<u8>) -> Page {
    let request = Request::builder()
        .method(method.clone())
        .uri(path)
        .header(header::COOKIE, cookies)
        .header(header::CONTENT_TYPE, kind)
        .body(Body::from(bytes))
        .expect("a request");
    let response = world.router().oneshot(request).await.expect("the service always answers");
    let page = Page::read(format!("{method} {path}"), path, response).await;
    crate::pages::rules::check(&page);
    page
}

#[tokio::test]
async fn bytes_that_are_no_form_are_answered_and_not_kept() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::TakenIn).await;
    let cookies = team.teacher.cookie_line();
    let csrf = team.teacher.opens("/account").await.csrf().expect("a token");
    let form = "application/x-www-form-urlencoded";
    let before = world.content().await;
    let start = format!("csrf={csrf}&");
    let path = team.at("/tasks");
    for end in ["%", "%zz", "%00%ff%fe", "name=%c3%28", "&&&&==&=&", "name=a%00b", "%F0%28%8C%28=1", "name=%ED%A0%80"] {
        let page = sends_bytes(&world, &cookies, (Method::POST, &path), form, (start.clone() + end).into_bytes()).await;
        assert!([400, 422].contains(&page.code()), "{end}: {}", page.code());
    }
    for (kind, bytes) in [
        ("application/json", b"{\"name\":1}".to_vec()),
        ("multipart/form-data; boundary=x", b"--x\r\n\r\n--x--".to_vec()),
        ("text/plain", vec![0xff; 2_000]),
        (form, Vec::new()),
        ("", b"csrf".to_vec()),
    ] {
        let page = sends_bytes(&world, &cookies, (Method::POST, &path), kind, bytes).await;
        assert!((400..500).contains(&page.code()), "{kind}: {}", page.code());
    }
    let many = (0..200_000).map(|number| format!("f{number}=")).collect::<Vec<_>>().join("&");
    let page = sends_bytes(&world, &cookies, (Method::POST, &path), form, many.into_bytes()).await;
    page.status(413).sees("Nothing was stored");
    let many = (0..20_000).map(|number| format!("f{number}=")).collect::<Vec<_>>().join("&");
    let page = sends_bytes(&world, &cookies, (Method::POST, &path), form, (start + &many).into_bytes()).await;
    assert!([403, 422].contains(&page.code()), "{}", page.code());
    unchanged(&world, &before, "bytes").await;
}

#[tokio::test]
async fn addresses_that_mean_nothing_are_not_there() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Trained).await;
    let odd = [
        "%00",
        "..%2f..",
        "%ff",
        "a%20b",
        "1",
        "-1",
        "0198f0a0-0000-7000-8000-00000000000g",
        "%F0%9F%A6%89",
        "'%20or%201=1--",
        "null",
    ];
    let patterns: Vec<(farpoint::web::routes::Method, &str)> =
        farpoint::web::routes(world.app()).recorded().iter().map(|one| (one.method, one.path)).collect();
    let before = world.content().await;
    let mut asked = 0;
    for (method, pattern) in
        patterns.into_iter().filter(|(_, path)| path.contains("/students/{student}") || path.starts_with("/devices/{"))
    {
        let mut holes: Vec<&str> = Vec::new();
        for hole in ["{student}", "{record}", "{word}"] {
            if pattern.contains(hole) {
                holes.push(hole);
            }
        }
        for hole in holes {
            for value in odd {
                let path = pattern.replace(hole, value).replace("{student}", &team.pupil.id.to_string());
                let path =
                    path.replace("{record}", "0198f0a0-0000-7000-8000-000000000000").replace("{word}", "distance");
                let page = match method {
                    farpoint::web::routes::Method::Get => team.teacher.opens(&path).await,
                    farpoint::web::routes::Method::Post => team.teacher.submits(&path, &[("version", "1")]).await,
                };
                assert!([403, 404].contains(&page.code()), "{}: {}", page.asked(), page.code());
                asked += 1;
            }
        }
    }
    assert!(asked > 500, "only {asked}");
    for query in [
        "?track=%00",
        "?track=%ff&on=1890-01-01",
        "?on=99999999-99-99",
        "?show=%3Cb%3E",
        "?track=near&track=distance",
        "?&&=",
        "?track[]=1",
    ] {
        for path in ["/training/new", "/thread", "/devices/receipt/new", "/observations/new"] {
            let page = team.teacher.opens(&team.at(&format!("{path}{query}"))).await;
            assert!(page.code() < 500, "{}", page.asked());
        }
    }
    unchanged(&world, &before, "an address").await;
}

#[tokio::test]
async fn a_method_that_a_page_does_not_have_is_not_there() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Opened).await;
    for method in [Method::PUT, Method::DELETE, Method::PATCH, Method::OPTIONS, Method::TRACE] {
        for path in ["/today".to_owned(), team.at(""), team.at("/tasks"), "/sign-in".to_owned()] {
            let page = team.teacher.sends(method.clone(), &path, &[], HeaderMap::new()).await;
            assert!([403, 404, 405].contains(&page.code()), "{method} {path}: {}", page.code());
        }
    }
}
