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
    ("acuity-needed", "Acuity needed", "0.30 logMAR", "0.7 less log 2.5 = 0.398, by hand"),
    ("apparent-field", "By the simple product", "60.0 degrees", "8 times 7.5, the convention of labels"),
    ("board-coverage", "Along one line", "6 views", "field 48.9 cm, (240 - 48.9)/39.1 = 4.9, up, and 1; by hand"),
    ("board-letter", "Asked for by the height", "0.76 logMAR", "25 mm over 3 m is 28.6 minutes; log(28.6/5), by hand"),
    ("board-views-aside", "Along one line", "5 views", "27.5 degrees of board; 20.5/5.6 = 3.7, up, and 1; by hand"),
    ("cap-or-tube", "Equivalent power with a cap", "5.00 D", "a cap of 2.5 D times a power of 2, by hand"),
    ("capitals", "Capitals ask for", "0.71 logMAR", "30 mm over 4 m is 25.8 minutes; log(25.8/5), by hand"),
    ("contrast-matched", "Weber contrast", "25 %", "0.3 is a half, so 0.6 is a quarter"),
    ("contrast-of-surfaces", "Weber contrast", "94 %", "(80 - 5)/80, by hand"),
    (
        "contrast-reserve",
        "Contrast reserve",
        "17.9 times the threshold",
        "ten to the -1.35 is 4.47 %; 80/4.47, by hand",
    ),
    (
        "contrast-threshold",
        "Threshold, as Weber contrast",
        "0.0224 of 1",
        "ten to the -1.65, from a table of logarithms",
    ),
    ("critical-print", "Critical print", "0.34 logMAR", "log 180/log 200 = 0.980; 3.918/e^1.9 - 0.25, by hand"),
    ("crossing-target", "With the bare eye", "8.0 degrees a second", "1.4 m in 10 m is 0.14 of a radian, by hand"),
    ("equivalent-power", "Equivalent power", "16.00 D", "20 + 4 - 0.1 times 80, by hand"),
    (
        "eye-behind-exit-pupil",
        "Half the apparent field, with light at the middle of the pupil",
        "5.9 degrees",
        "1.25 mm over 12 mm is a slope of 0.104, by hand",
    ),
    (
        "fit-a-curve",
        "Logarithm of the greatest speed",
        "2.10 log units",
        "the passages were made from a curve with 2.1",
    ),
    ("fraction", "logMAR", "1.00 logMAR", "definition: ten times the distance"),
    (
        "galilean-field",
        "Half the field, to where half the light is left",
        "4.3 degrees",
        "the pupil's picture lies 9.7 mm behind the ocular; 11 mm over 59.7 mm, less the 0.11 that the objective bends",
    ),
    ("keplerian-field", "True field that the stop leaves", "7.6 degrees", "16.5 mm over 125 mm is 0.132, by hand"),
    ("lens-as-written", "The axis is written", "180 degrees", "the convention: never 0"),
    ("lens-of-vector", "Cylinder", "-1.00 D", "0.433 and 0.25 squared add up to a quarter; minus twice a half"),
    ("letter-height", "Its detail", "1.7 mm", "a minute of arc at 6 m is 1.745 mm; the letter of 20/20"),
    ("letters-read", "logMAR", "0.70 logMAR", "1.0 + 0.1 - 0.4, by hand"),
    ("light-needed", "Light on the surface", "785 lux", "200 times 3.1416 over 0.8, by hand"),
    ("linear-field", "On a label, at 1000 m", "122 metres", "labels of 7 degrees, as the trade prints them"),
    ("michelson-to-weber", "Weber contrast", "67 %", "1 against 3: two thirds less, by hand"),
    ("reading-power", "Equivalent power", "10.00 D", "2 M over 1 M, twice, over 0.4 m; by hand"),
    ("reading-speed", "Reading speed", "143 words a minute", "600 over 4.2, by hand"),
    ("required-power", "From this seat, the power would be", "5.8 \u{d7}", "125 minutes wanted of 21.5, by hand"),
    ("scanning", "Omitted", "15 %", "3 of 20"),
    (
        "smallest-letter",
        "Write small letters at least",
        "5.5 cm",
        "25.1 times 5 times 2 over 8: 31.4 minutes, 5.48 cm; up",
    ),
    ("speed-of-print", "Reading speed", "135 words a minute", "at the critical print 1 - e^-2.3, nine tenths of 150"),
    ("stand-magnifier", "Works like looking from", "9 cm", "4 + 25 - 25 times 4/5, by hand"),
    ("surface-brightness", "Luminance", "111 cd/m\u{b2}", "350 over 3.1416, by hand"),
    ("telescope-brightness", "Light that reaches the eye", "59 %", "25/36 times 0.85, by hand"),
    ("telescope-focus", "The tube is longer by", "5.4 mm", "12.5 squared over 287.5, in cm; by hand"),
    (
        "telescope-lenses",
        "Power, minus for an inverted picture without prisms",
        "-8.0 \u{d7}",
        "64 over 8, Schwartz, ch. 12",
    ),
    (
        "telescope-unfocused",
        "Focusing at the ocular",
        "8.00 D",
        "-2.5 + 10 = 7.5; over 1 - 0.05 times 7.5: 12; 20 - 12; by hand",
    ),
    ("tracking", "Time on the target", "85 %", "51 of 60 seconds"),
    ("two-limbs", "Reading speed", "104 words a minute", "140 less 0.2 times 180, by hand"),
    ("type-size", "Print size", "1.00 M", "8 points of the reference face are 1 M by definition"),
    ("screen-readings", "Weber contrast of the writing", "73 %", "(550 - 151)/550, by hand"),
    (
        "power-for-letters",
        "Equivalent power",
        "14.50 D",
        "100 minutes are 0.0291 of a radian: 2 mm from 6.9 cm; 14.54 D, to the quarter",
    ),
    ("stand-field", "Seen at once", "2.2 cm", "60 mm over 11.1 times 0.25, by hand"),
    ("seat-in-rows", "Straight to the wall of the board", "4.4 m", "2 + 2 times 1.2, by hand"),
    ("visual-angle", "Angle", "28.6 minutes of arc", "25/3000 of a radian, times 3437.7, by hand"),
];

#[test]
fn every_calculator_has_a_value_from_elsewhere() {
    let without: Vec<&str> =
        all().map(|one| one.word).filter(|word| !CASES.iter().any(|(of, ..)| of == word)).collect();
    assert!(without.is_empty(), "nothing published or counted by hand for {without:?}");
}

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
