//! A person's own account: how pages look, the password, the sessions.

use jiff::SignedDuration;

use crate::people::PASSWORD;
use crate::world::World;

#[tokio::test]
async fn how_pages_look_is_kept_and_followed() {
    let world = World::new().await;
    let parent = world.parent().await;
    let wanted = [("units", "imperial"), ("appearance", "dark"), ("text_size", "26")];
    parent.presses("/account", "Save", &wanted).await.redirected_to();
    let page = parent.opens("/account").await.ok();
    for (field, value) in wanted {
        assert_eq!(page.value_of(field).as_deref(), Some(value), "{field}");
    }
    assert!(page.source().contains("data-appearance=\"dark\" data-text=\"26\""));
}

#[tokio::test]
async fn an_answer_that_the_page_does_not_offer_is_refused_beside_its_field() {
    let world = World::new().await;
    let parent = world.parent().await;
    let before = world.content().await;
    let odd = [("units", "parsecs"), ("appearance", ""), ("text_size", "1e999")];
    let page = parent.submits("/account", &odd).await.refused("units").refused("appearance").refused("text_size");
    assert!(page.title().starts_with("Error:"), "{}", page.title());
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn a_key_or_a_version_that_no_page_made_does_no_harm() {
    let world = World::new().await;
    let parent = world.parent().await;
    let wanted = [("units", "imperial"), ("appearance", "dark"), ("text_size", "22")];
    let long = "k".repeat(10_000);
    for odd in ["\u{0}", "a\u{0}b", "💧", "' or 1=1 --", long.as_str()] {
        let version = parent.opens("/account").await.value_near("/account", "version").expect("a version");
        let fields = [&wanted[..], &[("key", odd), ("version", &version)]].concat();
        parent.submits("/account", &fields).await.redirected_to();
        let fields = [&wanted[..], &[("version", odd)]].concat();
        parent.submits("/account", &fields).await.status(409);
    }
}

#[tokio::test]
async fn two_browsers_with_the_same_form_lose_no_write() {
    let world = World::new().await;
    let parent = world.parent().await;
    let (first, second) = (parent.opens("/account").await.ok(), parent.opens("/account").await.ok());
    parent.presses_on(&first, "Save", &[("text_size", "22")]).await.redirected_to();
    parent.presses_on(&second, "Save", &[("text_size", "26")]).await.blocked("Somebody else saved this meanwhile");
    assert_eq!(parent.opens("/account").await.value_of("text_size").as_deref(), Some("22"));
}

#[tokio::test]
async fn a_new_password_needs_the_old_one_and_ends_every_other_session() {
    let world = World::new().await;
    let parent = world.parent().await;
    let elsewhere = parent.at_another_browser();
    elsewhere.signs_in().await;
    let new = "the kettle sings at six";
    let before = world.content().await;
    for (current, password, again, field) in [
        ("not mine", new, new, "current"),
        (PASSWORD, "too short", "too short", "password"),
        (PASSWORD, new, "the kettle sings at ten", "password_again"),
    ] {
        let fields = [("current", current), ("password", password), ("password_again", again)];
        let page = parent.presses("/account", "Change the password", &fields).await.refused(field);
        page.lacks(password).lacks(current);
    }
    let after = world.content().await;
    let changed: Vec<_> = after.keys().filter(|table| after[*table] != before[*table]).collect();
    // A wrong password counts against the account, and nothing else is written.
    assert_eq!(changed, ["account"]);
    elsewhere.opens("/account").await.ok();

    let fields = [("current", PASSWORD), ("password", new), ("password_again", new)];
    parent.presses("/account", "Change the password", &fields).await.redirected_to();
    parent.opens("/account").await.ok();
    assert_eq!(elsewhere.opens("/account").await.redirected_to(), "/sign-in");
    let credentials = |password| [("sign_in", parent.sign_in.as_str()), ("password", password)];
    elsewhere.presses("/sign-in", "Sign in", &credentials(PASSWORD)).await.refused("sign_in");
    elsewhere.presses("/sign-in", "Sign in", &credentials(new)).await.redirected_to();
}

#[tokio::test]
async fn sessions_are_listed_and_the_others_can_be_ended() {
    let world = World::new().await;
    let parent = world.parent().await;
    let elsewhere = parent.at_another_browser();
    elsewhere.signs_in().await;
    let somebody = world.parent().await;
    let page = parent.opens("/account").await.ok().sees("(this one)");
    assert_eq!(page.seen().matches("last used").count(), 2, "{}", page.seen());
    parent.presses("/account", "Sign out everywhere else", &[]).await.redirected_to();
    assert_eq!(elsewhere.opens("/account").await.redirected_to(), "/sign-in");
    let page = parent.opens("/account").await.ok();
    assert_eq!(page.seen().matches("last used").count(), 1, "{}", page.seen());
    somebody.opens("/account").await.ok();
}

#[tokio::test]
async fn entering_the_password_again_takes_a_reason_and_the_right_password() {
    let world = World::new().await;
    let steward = world.steward().await;
    let again = async |reason: &str, password: &str| {
        steward.presses("/confirm", "Go on", &[("reason", reason), ("password", password)]).await
    };
    again("", PASSWORD).await.refused("reason");
    let page = again("a new clinician starts", "not this one").await.refused("password").lacks("not this one");
    assert_eq!(page.value_of("reason").as_deref(), Some("a new clinician starts"));
    assert_eq!(again("a new clinician starts", PASSWORD).await.redirected_to(), "/steward");
}

#[tokio::test]
async fn wrong_passwords_given_again_count_as_wrong_passwords() {
    let world = World::new().await;
    let steward = world.steward().await;
    for _ in 0..10 {
        let fields = [("reason", "guessing"), ("password", "a wrong guess")];
        steward.presses("/confirm", "Go on", &fields).await.refused("password");
    }
    let fields = [("reason", "guessing"), ("password", PASSWORD)];
    let page = steward.presses("/confirm", "Go on", &fields).await.refused("password");
    assert!(page.error_for("password").is_some_and(|words| words.contains("fifteen minutes")));
    world.passes(SignedDuration::from_mins(16));
    steward.presses("/confirm", "Go on", &fields).await.redirected_to();
}
