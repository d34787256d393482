//! The loan pool: who keeps it, what a device's figures say, and that a form
//! sent twice or by two people loses nothing.

use crate::world::World;

const SIX_BY_SIXTEEN: [(&str, &str); 9] = [
    ("tag", "LOAN-T-014"),
    ("owner", "district_pool"),
    ("kind", "handheld_monocular"),
    ("power", "6"),
    ("objective", "16 mm"),
    ("field", "9.3"),
    ("near_focus", "30 cm"),
    ("eye", "either"),
    ("condition", "good"),
];

#[tokio::test]
async fn a_device_is_added_and_its_figures_follow_from_its_label() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let place = teacher.presses("/devices/new", "Add the device", &SIX_BY_SIXTEEN).await.redirected_to();
    // 16/6 = 2.7 mm; 2 × 6 m × tan(9.3°/2) = 0.976 m (geometry, recomputed by hand).
    teacher
        .opens(&place)
        .await
        .ok()
        .sees("2.7 mm")
        .sees("97.6 cm wide")
        .sees("3 mm (assumed)")
        .sees("Never look at the sun");
    teacher.opens("/devices").await.ok().sees("LOAN-T-014").sees("6× telescope");
}

#[tokio::test]
async fn the_pool_is_for_teachers_of_vision_clinicians_and_records_officers() {
    let world = World::new().await;
    for keeper in [world.vision_teacher().await, world.clinician().await, world.steward().await] {
        keeper.opens("/devices").await.ok();
        keeper.opens("/devices/new").await.ok();
    }
    for other in [world.classroom_teacher().await, world.parent().await] {
        let before = world.content().await;
        other.opens("/devices").await.hidden();
        other.submits("/devices/new", &SIX_BY_SIXTEEN).await.hidden();
        assert_eq!(world.content().await, before);
    }
}

#[tokio::test]
async fn a_tag_is_used_once_and_what_cannot_be_is_refused_beside_its_field() {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    teacher.presses("/devices/new", "Add the device", &SIX_BY_SIXTEEN).await.redirected_to();
    let before = world.content().await;
    teacher.presses("/devices/new", "Add the device", &SIX_BY_SIXTEEN).await.refused("tag");
    for (field, odd) in
        [("power", "1e999"), ("objective", "-16"), ("near_focus", "0.3"), ("cleaned_on", "1890-01-01"), ("weight", "0")]
    {
        let fields = [&SIX_BY_SIXTEEN[1..], &[("tag", "LOAN-T-015"), (field, odd)]].concat();
        let fields: Vec<_> = fields.iter().filter(|(name, value)| *name != field || *value == odd).copied().collect();
        teacher.presses("/devices/new", "Add the device", &fields).await.refused(field);
    }
    assert_eq!(world.content().await, before);
}

#[tokio::test]
async fn of_two_people_with_the_same_device_neither_loses_what_was_typed() {
    let world = World::new().await;
    let (one, other) = (world.vision_teacher().await, world.clinician().await);
    let place = one.presses("/devices/new", "Add the device", &SIX_BY_SIXTEEN).await.redirected_to();
    let (first, second) = (one.opens(&place).await.ok(), other.opens(&place).await.ok());
    one.presses_on(&first, "Save the changes", &[("condition", "worn")]).await.redirected_to();
    let answer = other.presses_on(&second, "Save the changes", &[("condition", "scratched")]).await;
    answer.blocked("Somebody else saved this meanwhile").sees("worn").sees("scratched");
    assert_eq!(one.opens(&place).await.value_of("condition").as_deref(), Some("worn"));
}
