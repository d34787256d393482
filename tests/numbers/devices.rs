//! What follows from a device's label, as its page in the pool shows it. By
//! hand from the formulas named on the page.

use crate::page::Page;
use crate::world::World;

async fn page_of(device: &[(&str, &str)]) -> Page {
    let world = World::new().await;
    let teacher = world.vision_teacher().await;
    let fields = [&[("tag", "N-1"), ("owner", "charity"), ("condition", "good")][..], device].concat();
    let to = teacher.presses("/devices/new", "Add the device", &fields).await.redirected_to();
    teacher.opens(&to).await.ok()
}

#[tokio::test]
async fn a_telescopes_field_and_exit_pupil() {
    let label =
        [("kind", "handheld_monocular"), ("power", "8"), ("objective", "20"), ("field", "7"), ("near_focus", "1 ft")];
    // 20 / 8 = 2.5 mm; (2.5 / 3)^2 = 69 %. 2 x 3 tan 3.5° = 0.367 m, twice that at 6 m.
    page_of(&label)
        .await
        .sees("Exit pupil 2.5 mm")
        .sees("at most 69 % of the light")
        .sees("Seen at once from 3 m 36.7 cm wide")
        .sees("Seen at once from 6 m 73.4 cm wide")
        .sees("Nearest focus 30.5 cm")
        .sees("The clinician decides.");
}

#[tokio::test]
async fn a_telescope_with_a_reading_cap() {
    let label = [("kind", "spectacle_telescope"), ("power", "4"), ("objective", "12"), ("cap", "4")];
    // 4 x 4 = 16 D; the page 1 / 4 m from the cap.
    page_of(&label).await.sees("With the reading cap 16 D").sees("page 25 cm from the cap").sees("Exit pupil 3.0 mm");
}

#[tokio::test]
async fn a_magnifiers_viewing_distance_and_strip_of_print() {
    let label = [("kind", "hand_magnifier"), ("equivalent", "20"), ("lens", "50"), ("label", "5x")];
    // 1 / 20 m; 0.05 / (20 x 0.25) = 1 cm.
    page_of(&label)
        .await
        .sees("Works like looking from 5 cm")
        .sees("Print seen at once 1 cm wide")
        .sees("The × on a label is not used.");
}

#[tokio::test]
async fn what_is_not_stated_gives_no_figure() {
    let page = page_of(&[("kind", "handheld_monocular"), ("power", "8")]).await;
    assert!(!page.seen().contains("Exit pupil") && !page.seen().contains("Seen at once"), "{}", page.seen());
}
