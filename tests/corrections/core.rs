//! What the store keeps of a correction, and to whom it shows it.

use farpoint::access::Access;
use farpoint::access::action::{Amend, Read};
use farpoint::access::resource::{ClassObservation, HomeObservation};
use farpoint::care::amendment::{Change, Correction, Kind};
use farpoint::care::ids::ObservationId;
use farpoint::clock::fresh_uuid;
use farpoint::store::{Audit, StoreError, amendment};
use jiff::SignedDuration;

use crate::world::World;

#[tokio::test]
async fn a_correction_is_kept_for_a_record_that_is_there_and_of_its_kind() {
    let world = World::new().await;
    let circle = world.circle().await;
    let (pupil, class, parent) = (&circle.pupil, &circle.class, &circle.parent);
    let other = world.student_of(&circle.teacher).await;
    let fields = [("task", "worksheet"), ("device_out", "not_needed"), ("result", "all")];
    let seen = class.presses(&pupil.at("/observations/new"), "Save", &fields).await.redirected_to();
    let id: ObservationId = seen.rsplit('/').next().and_then(|id| id.parse().ok()).expect("its address ends in its id");
    let correction = Correction::because([Change::of("Note", "", "by the window")], "left out").expect("a change");

    let before = world.content().await;
    let mut tx = world.store().tx().await.expect("a transaction");
    let own: Access<ClassObservation, Amend> = world.proof(&mut tx, class, pupil).await;
    let home: Access<HomeObservation, Amend> = world.proof(&mut tx, parent, pupil).await;
    let elsewhere: Access<ClassObservation, Amend> = world.proof(&mut tx, &circle.teacher, &other).await;
    for refused in [
        amendment::write(&mut tx, &own, ObservationId::of(fresh_uuid()), &correction).await,
        amendment::write(&mut tx, &home, id, &correction).await,
        amendment::write(&mut tx, &elsewhere, id, &correction).await,
    ] {
        assert!(matches!(refused, Err(StoreError::Missing)), "{refused:?}");
    }
    drop(tx);
    assert_eq!(world.content().await, before);

    let mut tx = world.store().tx().await.expect("a transaction");
    let reading: Access<ClassObservation, Read> = world.proof(&mut tx, parent, pupil).await;
    amendment::write(&mut tx, &own, id, &correction).await.expect("its own record");
    tx.commit(Audit::by(&own).record(id)).await.expect("it is kept");
    let mut view = world.store().snapshot().await.expect("a view");
    let told = amendment::of_record(&mut view, &own, id).await.expect("its corrections");
    assert_eq!(told.len(), 1);
    assert_eq!((told[0].field.as_str(), told[0].before.as_str()), ("Note", ""));
    assert_eq!((told[0].after.as_str(), told[0].reason.as_str()), ("by the window", "left out"));
    assert_eq!((told[0].by.as_str(), told[0].at), (class.name.as_str(), view.now()));
    // The lock hides the entry from the family for a day, and its corrections with it.
    assert!(amendment::of_record(&mut view, &reading, id).await.expect("none").is_empty());
    assert!(amendment::of_record(&mut view, &elsewhere, id).await.expect("none").is_empty());
    assert!(amendment::of_record(&mut view, &home, id).await.expect("none").is_empty());
    let latest = amendment::latest(&mut view, &own, Kind::Observation).await.expect("dates");
    assert_eq!(latest.get(&id.to_string()), Some(&view.now()));
    drop(view);
    world.passes(SignedDuration::from_hours(25));
    let mut view = world.store().snapshot().await.expect("a view");
    // What was changed before the lock opened stays the writer's own affair.
    assert!(amendment::of_record(&mut view, &reading, id).await.expect("none").is_empty());
    assert_eq!(amendment::of_record(&mut view, &own, id).await.expect("its corrections").len(), 1);
    drop(view);
    let correction = Correction::because([Change::of("Note", "by the window", "")], "not hers").expect("a change");
    let mut tx = world.store().tx().await.expect("a transaction");
    amendment::write(&mut tx, &own, id, &correction).await.expect("its own record");
    tx.commit(Audit::by(&own).record(id)).await.expect("it is kept");
    let mut view = world.store().snapshot().await.expect("a view");
    assert_eq!(amendment::of_record(&mut view, &reading, id).await.expect("its corrections").len(), 1);
    assert_eq!(amendment::of_record(&mut view, &own, id).await.expect("its corrections").len(), 2);
}
