//! Worked cases: published values, and values counted by hand another way, read
//! off the page of each calculator's example.

use farpoint::web::calculators::all;

use super::{example, figures};
use crate::world::World;

/// Word, label, what is printed, and where the value comes from.
const CASES: &[(&str, &str, &str, &str)] = &[
    ("acuity", "logMAR", "1.00 logMAR", "definition: 20/200 is ten times the angle"),
    ("acuity", "Over 6 metres", "6/60", "DICOM PS3.17, Annex RR"),
    ("acuity", "VAR score", "50.0 points", "DICOM PS3.17, Annex RR: 100 less 50"),
    ("print-size", "Height of the small letters", "1.45 mm", "published for 1 M"),
    ("near-acuity", "Below the line of 20", "50 feet", "1 M at 40 cm is 20/50"),
    ("print-just-read", "Print just read", "0.67 M", "a published reading test, 2001"),
    ("letters-read-elsewhere", "logMAR", "1.30 logMAR", "1.0 + 0.1 - 0.4 + log 4, by hand"),
    ("focusing", "Focusing demand", "4.25 D", "4.35 by hand, to the quarter"),
    ("total-magnification", "Looks larger by", "8.4 \u{d7}", "3 times 2.8, by hand"),
    ("reserve", "Reserve", "2.5 times the threshold", "ten to the 0.4"),
    ("farthest-seat", "Sit no farther than", "2.7 m", "2.750 m, computed independently; down"),
    ("exit-pupil", "Exit pupil", "5.2 mm", "42 over 8 is 5.25, and a tie goes to the even tenth; trade handbooks"),
    (
        "telescope-without-glasses",
        "Power, minus for an inverted picture without prisms",
        "4.0 \u{d7}",
        "Schwartz, ch. 12",
    ),
    ("nearest-focus", "Nearest object, from the objective", "1.69 m", "0.125 + 0.015625/0.01, by hand"),
    ("field-of-label", "True field", "7.4 degrees", "390 ft at 1000 yd; 52.5 ft a degree in the trade"),
    ("reading-cap", "Equivalent power", "5.00 D", "2 times 2.5, by hand"),
    ("time-for-views", "Time", "50 seconds", "18 times 2 and 17 times 0.8: 49.6, by hand"),
    ("magnifier-label", "A quarter of the power and 1", "4.0 \u{d7}", "the trade's convention, 12/4 + 1"),
    ("magnifier-field", "Seen at once", "6 cm", "a teaching note's worked example"),
    ("starting-add", "Add for 1 M", "10.00 D", "Kestenbaum's rule for 0.1"),
    ("enlarged-picture", "Works like looking from", "2.5 cm", "Bailey, lecture notes: 25 cm over 10"),
    ("working-distance", "Page from the eye", "10 cm", "one over 10 dioptres"),
    ("contrast", "Weber contrast", "90 %", "(80 - 8)/80, by hand"),
    ("contrast-letters", "Contrast sensitivity", "1.50 log units", "30 letters of 0.05, by hand"),
    ("projector", "White to black", "20.0 to 1", "420 over 21, by hand"),
    ("screen-colours", "Ratio of the guideline", "7.0 to 1", "#595959 on white, known from the guideline's examples"),
    ("footcandles", "Light on the surface", "538 lux", "50 times 10.764, by hand"),
    ("task-lamp", "Light on the task", "325 lux", "1500/4 times cos 30, by hand"),
    ("classroom-light", "Recommended", "500 lux", "EN 12464-1 as summarised"),
    ("transpose", "Sphere", "-5.00 D", "-3 and -2, by hand"),
    ("spherical-equivalent", "Spherical equivalent, M", "-4.000 D", "-3 less 1, by hand"),
    ("vertex-distance", "Sphere", "-7.25 D", "-8/1.096 is -7.299, by hand, to the quarter"),
    ("accommodation", "At the least", "13.0 D", "Hofstetter 1950: 15 less 2"),
    ("text-speed", "Reading speed", "64 words a minute", "6120 over 95, by hand"),
    ("copying", "Board against desk", "30 %", "12 over 40, by hand"),
    ("success-rate", "Interval of 95 %, from", "38 %", "Wilson 1927 for 4 of 5: 0.3755"),
    ("median-time", "Median time", "11.0 seconds", "the third of five, by hand"),
    ("time-gain", "Faster by", "62 %", "15 over 24 is 62.5 %, and a tie goes to the even number; by hand"),
    ("shaking-picture", "The picture moves", "12.0 degrees a second", "8 times 1.5, by hand"),
];

#[tokio::test]
async fn the_examples_print_published_and_hand_counted_values() {
    let world = World::new().await;
    let person = world.vision_teacher().await;
    let mut wrong = Vec::new();
    for (word, label, printed, source) in CASES {
        assert!(all().any(|one| one.word == *word), "there is no calculator {word}");
        let blank = person.opens(&format!("/calculators/{word}")).await.ok();
        let page = person.opens(&example(&blank)).await.ok();
        let found = figures(&page).into_iter().find(|(named, ..)| named == label);
        let value = found.map(|(_, value, _)| value);
        if value.as_deref() != Some(*printed) {
            wrong.push(format!("{word}, {label}: {value:?}, not {printed} ({source})"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[tokio::test]
async fn lengths_are_told_in_the_units_of_the_account_and_in_metres() {
    let world = World::new().await;
    let query = "/calculators/farthest-seat?acuity=1.0+logMAR&letter=2.5+cm&power=4&reserve=2.5";
    let metric = figures(&world.vision_teacher().await.opens(query).await.ok());
    let imperial = figures(&super::in_feet(&world).await.opens(query).await.ok());
    // 2.750 m is 9.02 ft: down to 2.7 m and to 9 ft.
    assert_eq!((metric[0].1.as_str(), imperial[0].1.as_str()), ("2.7 m", "9 ft"));
    assert_eq!(metric[0].2, imperial[0].2);
    assert_eq!(metric[0].2, "before rounding: 2.7502 m");
}
