//! What is wrong is said beside its field, in people's words and with what was
//! typed still there; nothing typed breaks a page.

use farpoint::web::calculators::all;

use crate::world::World;

#[tokio::test]
async fn each_kind_of_field_says_what_would_be_right() {
    let world = World::new().await;
    let person = world.vision_teacher().await;
    let cases = [
        ("visual-angle?size=2.5+cm&distance=20%2F200", "distance", "unit"),
        ("visual-angle?size=2.5+cm&distance=15", "distance", "15 m or 15 ft"),
        ("visual-angle?size=&distance=3+m", "size", "is needed"),
        ("acuity?acuity=0.1", "acuity", "decimal or logMAR"),
        ("acuity?acuity=CF", "acuity", "no measured value"),
        ("print-just-read?acuity=0.1&distance=25+cm", "acuity", "decimal or logMAR"),
        ("reserve?acuity=0.3+logMAR&demand=NaN&reserve=2", "demand", "number in logMAR"),
        ("reserve?acuity=0.3+logMAR&demand=0.7&reserve=1e308", "reserve", "must be"),
        ("reserve?acuity=0.3+logMAR&demand=inf&reserve=2", "demand", "number"),
        ("footcandles?footcandles=1%2C500", "footcandles", "two ways"),
        ("exit-pupil?diameter=42+mm&power=-8", "power", "must be"),
        ("success-rate?right=-1&trials=5", "right", "whole number"),
        ("success-rate?right=6&trials=5", "right", ""),
        ("michelson-to-weber?michelson=50&polarity=sideways", "polarity", "answers listed"),
        ("median-time?times=1%2C2&cutoff=30", "times", "space between"),
        ("fit-a-curve?prints=0.1+0.2&speeds=0+10", "speeds", "more than 0"),
        ("screen-colours?text=red&ground=%23ffffff", "text", "hexadecimal"),
        ("print-size?m=1&n=8", "n", "only one"),
        ("print-size?m=&n=", "m", "one of these"),
        ("transpose?sphere=-3&cylinder=-2", "sphere", ""),
    ];
    for (query, field, words) in cases {
        let page = person.opens(&format!("/calculators/{query}")).await.status(422);
        let fault = page.error_for(field).or_else(|| {
            // A missing axis is said where the axis is typed.
            page.error_for("axis")
        });
        let fault = fault.unwrap_or_else(|| panic!("{query}: nothing beside {field}: {}", page.seen()));
        assert!(fault.contains(words), "{query}: {fault}");
        assert!(!fault.contains('_'), "{query} names a key: {fault}");
    }
    let page = person.opens("/calculators/visual-angle?size=2.5+cm&distance=a+lot").await.status(422);
    assert_eq!(page.value_of("distance").as_deref(), Some("a lot"));
    assert_eq!(page.value_of("size").as_deref(), Some("2.5 cm"));
}

#[tokio::test]
async fn a_place_straight_in_front_is_0_with_or_without_a_unit() {
    let world = World::new().await;
    let person = world.vision_teacher().await;
    let asked =
        |aside: &str| format!("/calculators/board-letter?height=2.5+cm&width=2.5+cm&straight=3+m&aside={aside}");
    for aside in ["0", "0+cm", "0.0+m", "0+ft"] {
        let page = person.opens(&asked(aside)).await.ok();
        // 3 m told once; what is told otherwise than typed stands beside it.
        page.sees("Seen from the side by 0 degrees").sees("2.5 cm (= 0.025 m)").lacks("3 m (= 3 m)");
    }
    for aside in ["0+yd", "", "-1+m", "0x"] {
        person.opens(&asked(aside)).await.refused("aside");
    }
    // For what must be more than nothing, a unit alone would not mend it.
    let page = person.opens("/calculators/visual-angle?size=0&distance=3+m").await.refused("size");
    let fault = page.error_for("size").unwrap();
    assert!(fault.contains("more than zero") && !fault.contains("add the unit"), "{fault}");
}

#[tokio::test]
async fn what_rounding_leaves_of_nothing_is_told_as_nothing() {
    let world = World::new().await;
    let person = world.clinician().await;
    let page = person.opens("/calculators/spherical-equivalent?sphere=-3&cylinder=-2&axis=180").await.ok();
    page.sees("before rounding: 0 D").lacks("0.0000");
}

#[tokio::test]
async fn a_refusal_in_feet_repeats_what_was_typed() {
    let world = World::new().await;
    let person = super::in_feet(&world).await;
    let page = person.opens("/calculators/task-lamp?intensity=100&distance=15+ft&incidence=120").await.status(422);
    assert!(page.error_for("incidence").is_some(), "{}", page.seen());
    let page = person.opens("/calculators/visual-angle?size=1+in&distance=40000+ft").await.status(422);
    let fault = page.error_for("distance").unwrap();
    assert!(fault.starts_with("Distance from the eye: "), "{fault}");
}

#[tokio::test]
async fn nothing_typed_breaks_a_page() {
    let world = World::new().await;
    let person = world.clinician().await;
    let long = "9".repeat(2_000);
    let odd = ["NaN", "1e308", "-1e308", "20/200", "0", "-5", "\u{0}", "<b>", "%", "1e-300", "9,9,9", long.as_str()];
    for one in all() {
        for value in odd {
            let mut query = form_urlencoded::Serializer::new(String::new());
            for field in one.fields {
                query.append_pair(field.name, value);
            }
            let path = format!("/calculators/{}?{}&foreign=1", one.word, query.finish());
            let page = person.opens(&path).await;
            assert!(page.code() == 200 || page.code() == 422, "{path}: {}", page.code());
        }
    }
    let blank = person.opens("/calculators/acuity?foreign=1").await.ok();
    assert!(!blank.source().contains("class=\"fault\""), "a foreign word is no question");
}
