//! Signing in and out: who gets in, who waits, and what another site can do.

use std::net::SocketAddr;

use axum::Extension;
use axum::extract::ConnectInfo;
use axum::http::{HeaderMap, Method};
use jiff::SignedDuration;

use crate::page::Page;
use crate::people::{PASSWORD, Person};
use crate::world::{SIGN_IN_BURST, World};

async fn tries(person: &Person, sign_in: &str, password: &str) -> Page {
    person.sends(Method::POST, "/sign-in", &[("sign_in", sign_in), ("password", password)], HeaderMap::new()).await
}

fn header(name: &'static str, value: &'static str) -> HeaderMap {
    let mut headers = HeaderMap::new();
    headers.insert(name, value.parse().expect("a header"));
    headers
}

#[tokio::test]
async fn the_right_password_opens_and_the_cookie_is_out_of_reach_of_scripts() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let answer = tries(&teacher.at_another_browser(), &teacher.sign_in, PASSWORD).await;
    assert_eq!(answer.redirected_to(), "/today");
    let cookie = answer.header("set-cookie");
    assert!(cookie.contains("HttpOnly") && cookie.contains("SameSite=Lax"), "{cookie}");
    let page = teacher.opens("/account").await.ok().sees(&teacher.sign_in);
    assert_eq!((page.h1(), page.title()), ("Your account".to_owned(), "Your account - Farpoint".to_owned()));
    // Capitals and spaces around a sign-in name are no reason to refuse.
    let loud = format!(" {} ", teacher.sign_in.to_uppercase());
    tries(&teacher.at_another_browser(), &loud, PASSWORD).await.redirected_to();
}

#[tokio::test]
async fn over_https_the_cookie_never_travels_in_the_clear() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let secure = teacher.at_another_browser().through(world.router_with(|app| app.secure = true));
    let answer = tries(&secure, &teacher.sign_in, PASSWORD).await;
    let cookie = answer.header("set-cookie").to_owned();
    assert!(cookie.starts_with("__Host-") && cookie.contains("; Secure"), "{cookie}");
    secure.opens("/account").await.ok();
}

#[tokio::test]
async fn a_wrong_password_an_unknown_name_and_a_waiting_account_get_the_same_words() {
    let world = World::new().await;
    let (teacher, parent) = (world.vision_teacher().await, world.parent().await);
    for _ in 0..10 {
        tries(&world.stranger(), &parent.sign_in, "not this one").await.refused("sign_in");
    }
    let mut words = Vec::new();
    for (name, password) in [
        (teacher.sign_in.as_str(), "not this one"),
        ("nobody-of-that-name", PASSWORD),
        (parent.sign_in.as_str(), PASSWORD),
        ("", ""),
    ] {
        let answer = tries(&world.stranger(), name, password).await.refused("sign_in").lacks("not this one");
        assert_eq!(answer.value_of("sign_in").as_deref(), Some(name), "what was typed stays");
        assert_eq!(answer.header("set-cookie"), "");
        words.push(answer.seen());
    }
    words.dedup();
    assert_eq!(words.len(), 1, "{words:?}");
}

#[tokio::test]
async fn after_ten_wrong_passwords_an_account_waits_fifteen_minutes() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    for _ in 0..9 {
        tries(&world.stranger(), &teacher.sign_in, "a wrong guess").await.refused("sign_in");
    }
    // The right one in between starts the count anew.
    tries(&world.stranger(), &teacher.sign_in, PASSWORD).await.redirected_to();
    for _ in 0..10 {
        tries(&world.stranger(), &teacher.sign_in, "a wrong guess").await.refused("sign_in");
    }
    tries(&world.stranger(), &teacher.sign_in, PASSWORD).await.refused("sign_in");
    world.passes(SignedDuration::from_mins(14));
    tries(&world.stranger(), &teacher.sign_in, PASSWORD).await.refused("sign_in");
    world.passes(SignedDuration::from_mins(2));
    tries(&world.stranger(), &teacher.sign_in, PASSWORD).await.redirected_to();
}

#[tokio::test]
async fn one_network_address_may_try_only_so_often() {
    let world = World::new().await;
    let here = Extension(ConnectInfo(SocketAddr::from(([192, 0, 2, 7], 40_000))));
    let somebody = world.stranger().through(world.router().layer(here));
    for turn in 0..SIGN_IN_BURST {
        tries(&somebody, &format!("guess-{turn}"), "a wrong guess").await.refused("sign_in");
    }
    tries(&somebody, "one-more", "a wrong guess").await.status(429);
    let there = Extension(ConnectInfo(SocketAddr::from(([192, 0, 2, 8], 40_000))));
    let other = world.stranger().through(world.router_with(|_| {}).layer(there));
    tries(&other, "one-more", "a wrong guess").await.refused("sign_in");
}

#[tokio::test]
async fn signing_out_ends_the_session_wherever_its_cookie_went() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let copy = teacher.with_copied_cookies();
    copy.opens("/account").await.ok();
    assert_eq!(teacher.presses("/account", "Sign out", &[]).await.redirected_to(), "/sign-in");
    assert_eq!(copy.opens("/account").await.redirected_to(), "/sign-in");
    assert_eq!(teacher.opens("/account").await.redirected_to(), "/sign-in");
}

#[tokio::test]
async fn a_session_ends_after_half_an_hour_idle_and_after_twelve_hours_of_use() {
    let world = World::new().await;
    let (idle, busy) = (world.vision_teacher().await, world.vision_teacher().await);
    for _ in 0..28 {
        busy.opens("/account").await.ok();
        world.passes(SignedDuration::from_mins(25));
    }
    assert_eq!(idle.opens("/account").await.redirected_to(), "/sign-in");
    busy.opens("/account").await.ok();
    world.passes(SignedDuration::from_mins(21));
    assert_eq!(busy.opens("/account").await.redirected_to(), "/sign-in");
}

#[tokio::test]
async fn a_form_without_this_sessions_token_changes_nothing() {
    let world = World::new().await;
    let (teacher, other) = (world.vision_teacher().await, world.vision_teacher().await);
    let stolen = other.opens("/account").await.csrf().expect("a token");
    let version = teacher.opens("/account").await.value_near("/account", "version").unwrap_or_default();
    let before = world.content().await;
    let wanted = [("units", "imperial"), ("appearance", "dark"), ("text_size", "22"), ("version", version.as_str())];
    for token in [None, Some(""), Some("guessed"), Some(stolen.as_str())] {
        let mut fields = wanted.to_vec();
        fields.extend(token.map(|token| ("csrf", token)));
        let answer = teacher.sends(Method::POST, "/account", &fields, HeaderMap::new()).await;
        answer.forbidden().sees("it was not stored");
    }
    assert_eq!(world.content().await, before);
    teacher.submits("/account", &wanted).await.redirected_to();
    assert_ne!(world.content().await, before, "with the token the same form is stored");
}

#[tokio::test]
async fn another_site_cannot_send_a_form_even_with_the_token() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let page = teacher.opens("/account").await.ok();
    let (action, pairs) = page.filled("Save", &[("units", "imperial")]);
    let pairs: Vec<(&str, &str)> = pairs.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
    let before = world.content().await;
    for headers in [
        header("sec-fetch-site", "cross-site"),
        header("sec-fetch-site", "same-site"),
        header("origin", "https://elsewhere.example"),
        header("origin", "null"),
    ] {
        teacher.sends(Method::POST, &action, &pairs, headers.clone()).await.forbidden();
        let credentials = [("sign_in", teacher.sign_in.as_str()), ("password", PASSWORD)];
        let answer = world.stranger().sends(Method::POST, "/sign-in", &credentials, headers).await.forbidden();
        assert_eq!(answer.header("set-cookie"), "");
    }
    assert_eq!(world.content().await, before);
    teacher.sends(Method::POST, &action, &pairs, header("sec-fetch-site", "same-origin")).await.redirected_to();
}

#[tokio::test]
async fn who_is_not_signed_in_is_sent_to_sign_in_and_stores_nothing() {
    let world = World::new().await;
    let stranger = world.stranger();
    for path in ["/account", "/confirm", "/steward"] {
        assert_eq!(stranger.opens(path).await.redirected_to(), "/sign-in", "{path}");
    }
    let before = world.content().await;
    stranger.submits("/account", &[("units", "imperial")]).await.forbidden();
    stranger.submits("/sign-out", &[]).await.forbidden();
    assert_eq!(world.content().await, before);
    stranger.opens("/no-such-page").await.hidden();
    stranger.opens("/help").await.ok();
}

#[tokio::test]
async fn every_answer_says_what_a_browser_may_do_with_it() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    for path in ["/account", "/sign-in", "/no-such-page", "/help"] {
        let answer = teacher.opens(path).await;
        for (name, value) in [
            ("x-frame-options", "DENY"),
            ("referrer-policy", "no-referrer"),
            ("cross-origin-opener-policy", "same-origin"),
            ("x-content-type-options", "nosniff"),
        ] {
            assert_eq!(answer.header(name), value, "{path}: {name}");
        }
        assert!(answer.header("strict-transport-security").starts_with("max-age="), "{path}");
        let policy = answer.header("content-security-policy");
        for part in ["default-src 'none'", "script-src 'self'", "form-action 'self'", "frame-ancestors 'none'"] {
            assert!(policy.contains(part), "{path}: {policy}");
        }
    }
}

#[tokio::test]
async fn any_bytes_in_the_sign_in_form_get_an_answer() {
    let world = World::new().await;
    let long = "x".repeat(10_000);
    for odd in ["\u{0}", "a\u{0}b", "💧", "O'Brien", "שלום", "' or 1=1 --", long.as_str()] {
        tries(&world.stranger(), odd, odd).await.refused("sign_in");
        tries(&world.stranger(), odd, PASSWORD).await.refused("sign_in");
    }
    let huge = "x".repeat(600 * 1024);
    tries(&world.stranger(), &huge, PASSWORD).await.status(413);
}
