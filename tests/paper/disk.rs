//! How a file lies on the disk: whole with its row, or not at all.

use std::time::{Duration, SystemTime};

use farpoint::access::Access;
use farpoint::access::action::Create;
use farpoint::access::resource::Consents;
use farpoint::access::standing::Password;
use farpoint::care::attachment::check;
use farpoint::care::ids::ConsentId;
use farpoint::clock::fresh_uuid;
use farpoint::store::attachment::{self, Parent};
use farpoint::store::{StoreError, standing};

use super::files::pdf;
use crate::lap::{DISTANCE, Step, Team};
use crate::world::World;

#[tokio::test]
async fn a_file_that_no_row_came_to_name_is_taken_away_again() {
    let world = World::new().await;
    let laid = world.store().files().lay(check(pdf(), "a.pdf").unwrap()).await.unwrap();
    assert_eq!(world.files(), [laid.id().to_string()], "under its id, without a temporary one beside it");
    drop(laid);
    assert!(world.files().is_empty());
}

#[tokio::test]
async fn a_transaction_that_is_not_kept_leaves_no_file_and_no_row() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let teacher = team.teacher.actor();
    let consent: ConsentId = world.newest("consent", &team.pupil).await.unwrap().parse().unwrap();
    for parent in [consent, ConsentId::of(fresh_uuid())] {
        let laid = world.store().files().lay(check(pdf(), "a.pdf").unwrap()).await.unwrap();
        let mut tx = world.store().tx().await.unwrap();
        let standing = standing::of(&mut tx, teacher, team.pupil.id, Password::NotEntered).await.unwrap();
        let access: Access<Consents, Create> = Access::grant(teacher, team.pupil.id, &standing).unwrap();
        let kept = attachment::keep(&mut tx, &access, Parent::Consent(parent), laid).await;
        assert_eq!(kept.is_ok(), parent == consent);
        if let Err(error) = kept {
            assert!(matches!(error, StoreError::Missing), "a parent that is not there");
        }
        drop(tx);
        assert!(world.files().is_empty());
        assert_eq!(world.count("attachment").await, 0);
    }
    let id = world.attaches_scan_of_consent(&team.teacher, &team.pupil).await;
    assert_eq!(world.files(), [id.to_string()]);
    assert_eq!(world.count("attachment").await, 1);
}

#[tokio::test]
async fn what_a_crash_left_is_swept_at_the_next_start_and_nothing_else() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let kept = world.attaches_scan_of_consent(&team.teacher, &team.pupil).await.to_string();
    let put = |name: &str, age: u64| {
        let file = std::fs::File::create(world.attachments().join(name)).unwrap();
        file.set_modified(SystemTime::now() - Duration::from_secs(age)).unwrap();
    };
    put("0198f0a0-0000-7000-8000-000000000001", 3_600);
    put("0198f0a0-0000-7000-8000-000000000002.part", 3_600);
    // Another server on the same folder may be about to name this one.
    put("0198f0a0-0000-7000-8000-000000000003", 5);
    let old = std::fs::File::open(world.attachments().join(&kept)).unwrap();
    old.set_modified(SystemTime::now() - Duration::from_secs(3_600)).unwrap();
    assert_eq!(attachment::sweep(world.store()).await.unwrap(), 2);
    assert_eq!(world.files(), ["0198f0a0-0000-7000-8000-000000000003".to_owned(), kept]);
}

#[tokio::test]
async fn a_scan_is_handed_out_as_a_download_under_a_policy_that_runs_nothing() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let id = world.attaches_scan_of_consent(&team.teacher, &team.pupil).await;
    let path = team.at(&format!("/attachments/{id}"));
    let page = team.parent.opens(&path).await.ok();
    assert_eq!(page.header("content-type"), "application/pdf");
    assert_eq!(
        page.header("content-disposition"),
        "attachment; filename=\"consent.pdf\"; filename*=UTF-8''consent.pdf"
    );
    assert_eq!(page.header("content-security-policy"), "sandbox; default-src 'none'; frame-ancestors 'none'");
    assert_eq!(page.header("x-content-type-options"), "nosniff");
    assert_eq!(page.header("cache-control"), "no-store");
    assert_eq!(page.source().as_bytes(), pdf());
    for below in ["/static/", "/static/attachments/", "/static/../attachments/"] {
        team.parent.opens(&format!("{below}{id}")).await.status(404);
    }
    world.stranger().opens(&path).await.status(303);
    team.classroom.opens(&path).await.hidden();
    world.steward().await.opens(&path).await.hidden();
    // The same file under another student's address is not there.
    let other = Team::up_to(&world, &DISTANCE, Step::Opened).await;
    team.teacher.opens(&other.at(&format!("/attachments/{id}"))).await.hidden();
    other.teacher.opens(&other.at(&format!("/attachments/{id}"))).await.hidden();
}

#[tokio::test]
async fn a_file_that_changed_on_the_disk_is_not_handed_out() {
    let world = World::new().await;
    let team = Team::up_to(&world, &DISTANCE, Step::Consented).await;
    let id = world.attaches_scan_of_consent(&team.teacher, &team.pupil).await;
    std::fs::write(world.attachments().join(id.to_string()), b"%PDF-1.4 something else").unwrap();
    let request = axum::http::Request::get(team.at(&format!("/attachments/{id}")))
        .header("cookie", team.parent.cookie_line())
        .body(axum::body::Body::empty())
        .unwrap();
    let response = tower::ServiceExt::oneshot(world.router(), request).await.unwrap();
    assert_eq!(response.status(), 500);
}
