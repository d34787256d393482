//! Signing a draft against an edit of the same draft in another window: what is
//! signed is what its signer saw, whole, or nothing is signed.

use sqlx::Row;

use super::{ROUNDS, at_once};
use crate::lap::{DISTANCE, Step, Team};
use crate::people::PASSWORD;
use crate::world::World;

/// One text of one row.
async fn text_of(world: &World, sql: &'static str, id: &str) -> (String, String) {
    let mut view = world.store().db().begin_read().await.expect("a view");
    let row = sqlx::query(sql).bind(id.to_owned()).fetch_one(&mut *view).await.expect("the row");
    (row.get("state"), row.get("text"))
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn sign_against_edit_of_an_evaluation() {
    let world = World::crowded().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Asked).await;
    let old = team.evaluates(&DISTANCE).await;
    team.signs_evaluation(&old).await;
    let (mut signed, mut refused) = (0, 0);
    let mut current = old;
    for round in 0..ROUNDS {
        // A copy of the one before is the shortest way to a complete draft.
        let why = [("supersede_reason", "Written anew."), ("version", "0")];
        let hub = team.clinician.submits(&format!("{current}/supersede"), &why).await.redirected_to();
        let draft = hub.strip_suffix("/edit").expect("the sections").to_owned();
        let id = draft.rsplit('/').next().expect("an id").to_owned();
        let version = version_of(&world, "select version from evaluation where id = $1", &id).await;
        let after = format!("hall {round}");
        let saw = text_of(&world, "select state, lighting_advice as text from evaluation where id = $1", &id).await.1;
        let (signer, editor) = (team.clinician.clone(), team.clinician.clone());
        let (sign, edit) = (format!("{draft}/sign"), format!("{draft}/edit/advice"));
        let (at, words, same) = (version.clone(), after.clone(), version);
        let (answer, edited) = at_once(
            round,
            async move { signer.submits(&sign, &[("password", PASSWORD), ("version", &at)]).await },
            async move { editor.submits(&edit, &[("lighting", &words), ("version", &same)]).await },
        )
        .await;
        let sql = "select state, lighting_advice as text from evaluation where id = $1";
        let (state, text) = text_of(&world, sql, &id).await;
        match (answer.code(), edited.code()) {
            (303, code) => {
                assert_ne!(code, 303, "round {round}: signed, and edited under the signature");
                assert_eq!((state.as_str(), &text), ("signed", &saw), "round {round}: signed is what was seen");
                current = draft;
                signed += 1;
            }
            (code, 303) => {
                assert!([409, 422].contains(&code), "round {round}: {code}");
                assert_eq!((state.as_str(), &text), ("draft", &after), "round {round}: the edit is whole");
                let version = version_of(&world, "select version from evaluation where id = $1", &id).await;
                let gone = [("version", version.as_str())];
                team.clinician.submits(&format!("{draft}/discard"), &gone).await.redirected_to();
                refused += 1;
            }
            codes => panic!("round {round}: neither was done: {codes:?}"),
        }
    }
    assert!(signed > 0 && refused > 0, "{signed} signed, {refused} refused: the two never met");
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn send_against_edit_of_a_summary() {
    let world = World::crowded().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Ready).await;
    team.trains(&DISTANCE).await;
    let (mut sent, mut refused) = (0, 0);
    let today = world.day(0);
    for round in 0..ROUNDS {
        let draft = team.teacher.submits(&team.at("/summaries"), &[("track", "distance")]).await.redirected_to();
        let id = draft.rsplit('/').next().expect("an id").to_owned();
        let version = version_of(&world, "select version from summary where id = $1", &id).await;
        let written = [
            ("words", "as it was read"),
            ("questions", "Is this it?"),
            ("few_reason", "Few."),
            ("from", today.as_str()),
            ("to", today.as_str()),
            ("version", version.as_str()),
        ];
        team.teacher.submits(&draft, &written).await.redirected_to();
        let version = version_of(&world, "select version from summary where id = $1", &id).await;
        let (signer, editor) = (team.teacher.clone(), team.teacher.clone());
        let (send, edit, day) = (format!("{draft}/send"), draft.clone(), today.clone());
        let (at, same) = (version.clone(), version);
        let (answer, edited) = at_once(
            round,
            async move { signer.submits(&send, &[("password", PASSWORD), ("version", &at)]).await },
            async move {
                let fields = [
                    ("words", "as it was changed"),
                    ("questions", "Or that?"),
                    ("few_reason", "Few."),
                    ("from", day.as_str()),
                    ("to", day.as_str()),
                    ("version", same.as_str()),
                ];
                editor.submits(&edit, &fields).await
            },
        )
        .await;
        let sql = "select state, words || ' / ' || questions as text from summary where id = $1";
        let (state, text) = text_of(&world, sql, &id).await;
        match (answer.code(), edited.code()) {
            (303, code) => {
                assert_ne!(code, 303, "round {round}: sent, and edited under the signature");
                assert_eq!((state.as_str(), text.as_str()), ("sent", "as it was read / Is this it?"), "round {round}");
                sent += 1;
            }
            (code, 303) => {
                assert_eq!(code, 409, "round {round}");
                let whole = ("draft", "as it was changed / Or that?");
                assert_eq!((state.as_str(), text.as_str()), whole, "round {round}");
                refused += 1;
            }
            codes => panic!("round {round}: neither was done: {codes:?}"),
        }
    }
    assert!(sent > 0 && refused > 0, "{sent} sent, {refused} refused: the two never met");
    assert_eq!(world.count("sending").await, 1 + sent, "each that was sent went once, beside the evaluation");
}

/// The version that the form of a draft would hold now.
async fn version_of(world: &World, sql: &'static str, id: &str) -> String {
    let mut view = world.store().db().begin_read().await.expect("a view");
    let version: i64 = sqlx::query_scalar(sql).bind(id.to_owned()).fetch_one(&mut *view).await.expect("the row");
    version.to_string()
}
