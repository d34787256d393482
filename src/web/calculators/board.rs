//! Calculators of angles, of what a board asks for, and of seats.

use super::entry::Given::Typed;
use super::entry::{Calculator, Care, Field, Takes, Told, ask, show};

const DISTANCE: Field = Field::far("distance", "Distance from the eye", "4 m");
const ACUITY: Field = Field::acuity("acuity", "Acuity", "1.0 logMAR");
const LETTER: Field =
    Field::near("letter", "Height of the small letters", "2.5 cm").hint("The height of an x, not of a capital.");
const RESERVE: Field = Field::times("reserve", "Reserve needed", "2.5")
    .hint("How many times the smallest size that is just read: 1 is the threshold.");
const POWER: Field = Field::times("power", "Power of the device", "4").hint("1 for none.");
const DEMAND: Field = Field::number("demand", "What the target asks for", "logMAR", "0.7");

const ASIDE: Field =
    Field::taking(Takes::Aside, "aside", "How far the letter is to the side", "0").hint("0 for straight in front.");

const GEOMETRY: &str = "Geometry (derived).";

pub(super) const ALL: &[Calculator] = &[
    Calculator {
        word: "visual-angle",
        title: "Visual angle",
        question: "How large does something look from this distance?",
        fields: &[
            Field::near("size", "Size of the target", "2.5 cm"),
            Field::far("distance", "Distance from the eye", "3 m"),
        ],
        steps: &[
            ask(
                "visual_angle",
                &[("size_m", Typed("size")), ("distance_m", Typed("distance"))],
                &[
                    show("angle_arcmin", "Angle", Told::Number(1, "minutes of arc")),
                    show("angle_deg", "In degrees", Told::Number(2, "degrees")),
                    show("small_angle_deg", "By the rule for small angles", Told::Number(2, "degrees")),
                    show("small_angle_error_pct", "Error of that rule", Told::Number(3, "%")),
                ],
            ),
            ask(
                "degrees_per_mm",
                &[("distance_m", Typed("distance"))],
                &[
                    show("deg_per_mm", "A millimetre there is", Told::Number(3, "degrees wide")),
                    show("mm_per_deg_centred", "A degree there is", Told::Number(1, "mm long")),
                ],
            ),
        ],
        how: &["Twice the arc tangent of half the size over the distance."],
        source: GEOMETRY,
        care: Care::Plain,
    },
    Calculator {
        word: "letter-height",
        title: "Letter height for an angle",
        question: "How tall is the letter whose detail has this angle, at this distance?",
        fields: &[
            Field::number("angle", "Angle of the detail", "minutes of arc", "1").hint("1 for a letter of 20/20."),
            Field::far("distance", "Distance from the eye", "6 m"),
        ],
        steps: &[ask(
            "letter_height",
            &[("mar_arcmin", Typed("angle")), ("distance_m", Typed("distance"))],
            &[
                show("letter_height_mm", "Letter height", Told::Letter),
                show("critical_detail_mm", "Its detail", Told::Millimetres),
            ],
        )],
        how: &["The letter is five details tall: twice the distance times the tangent of half of five angles."],
        source: GEOMETRY,
        care: Care::Plain,
    },
    Calculator {
        word: "capitals",
        title: "Capitals and small letters",
        question: "What do capitals ask for, and the small letters written with them?",
        fields: &[
            Field::near("capitals", "Height of the capitals", "3 cm"),
            DISTANCE,
            Field::percent("small", "Small letters, as a part of the capitals", "70")
                .hint("66 to 72 in usual writing."),
        ],
        steps: &[ask(
            "x_height_demand",
            &[
                ("cap_height_m", Typed("capitals")),
                ("distance_m", Typed("distance")),
                ("x_to_cap_ratio", Typed("small")),
            ],
            &[
                show("logmar_lowercase", "Small letters ask for", Told::LogMar),
                show("logmar_lowercase", "Small letters, over 20 feet", Told::OverTwenty),
                show("logmar_caps", "Capitals ask for", Told::LogMar),
            ],
        )],
        how: &["The logarithm of the angle of the letter over 5 minutes of arc. Small letters decide."],
        source: "Geometry (derived); the usual proportion is common practice.",
        care: Care::Plain,
    },
    Calculator {
        word: "board-letter",
        title: "What a board letter asks for",
        question: "Which acuity does writing on the board ask for from this seat, to the side too?",
        fields: &[
            Field::near("height", "Height of the small letters", "2.5 cm"),
            Field::near("width", "Width of the small letters", "2.5 cm").hint("About as wide as tall."),
            Field::far("straight", "Distance straight to the wall of the board", "3 m"),
            ASIDE,
        ],
        steps: &[ask(
            "board_letter_demand",
            &[
                ("letter_height_m", Typed("height")),
                ("letter_width_m", Typed("width")),
                ("perpendicular_distance_m", Typed("straight")),
                ("lateral_offset_m", Typed("aside")),
            ],
            &[
                show("logmar_horizontal", "Asked for by the width", Told::LogMar),
                show("logmar_horizontal", "That is, over 20 feet", Told::OverTwenty),
                show("logmar_vertical", "Asked for by the height", Told::LogMar),
                show("sight_distance_m", "Line of sight", Told::Distance),
                show("obliquity_deg", "Seen from the side by", Told::Number(0, "degrees")),
                show("vertical_arcmin", "Looks tall", Told::Number(1, "minutes of arc")),
                show("horizontal_arcmin", "Looks wide", Told::Number(1, "minutes of arc")),
            ],
        )],
        how: &[
            "The logarithm of the angle over 5 minutes of arc, along the line of sight.",
            "From the side the height shrinks with the cosine of the angle and the width with its square; the smaller decides.",
        ],
        source: "Geometry (derived); that the smaller angle decides is common practice.",
        care: Care::Plain,
    },
    Calculator {
        word: "seat-in-rows",
        title: "A seat in the rows of a room",
        question: "Where does this seat of a room stand before the board?",
        fields: &[
            Field::count("rows", "Rows", "4"),
            Field::count("row_seats", "Seats in a row", "5"),
            Field::far("first", "From the eyes of the first row straight to the board", "2 m"),
            Field::far("row_gap", "From one row to the next", "1.2 m"),
            Field::far("seat_gap", "From one seat to the next", "80 cm"),
            Field::taking(Takes::Aside, "aside", "How far the board is to the right of the middle of the rows", "0")
                .hint("0 where it hangs in the middle; for one on the left, count the seats from the right."),
            Field::count("row", "Row of the seat, from the board", "3"),
            Field::count("seat", "Seat in that row, from the left facing the board", "5"),
        ],
        steps: &[ask(
            "seat_in_rows",
            &[
                ("rows", Typed("rows")),
                ("row_seats", Typed("row_seats")),
                ("first_row_m", Typed("first")),
                ("row_gap_m", Typed("row_gap")),
                ("seat_gap_m", Typed("seat_gap")),
                ("board_aside_m", Typed("aside")),
                ("row", Typed("row")),
                ("seat", Typed("seat")),
            ],
            &[
                show("perpendicular_distance_m", "Straight to the wall of the board", Told::Distance),
                show("lateral_offset_m", "To the right of the board's centre", Told::Distance),
                show("sight_distance_m", "Line of sight to its centre", Told::Distance),
                show("obliquity_deg", "Seen from the side by", Told::Number(0, "degrees")),
            ],
        )],
        how: &[
            "So many gaps behind the first row, and so many beside the middle of the row, less how far the board is aside.",
        ],
        source: GEOMETRY,
        care: Care::Plain,
    },
    Calculator {
        word: "reserve",
        title: "Acuity reserve",
        question: "How far above the threshold is the target, and what would bring it to the reserve needed?",
        fields: &[Field::acuity("acuity", "Acuity", "0.3 logMAR"), DEMAND, RESERVE],
        steps: &[ask(
            "acuity_reserve",
            &[
                ("threshold_logmar", Typed("acuity")),
                ("demand_logmar", Typed("demand")),
                ("required_reserve_ratio", Typed("reserve")),
            ],
            &[
                show("reserve_ratio", "Reserve", Told::Number(1, "times the threshold")),
                show("reserve_log", "Reserve in log units", Told::Number(2, "log units")),
                show("magnification_needed", "Enlargement to the reserve needed", Told::Times),
                show("threshold_needed_logmar", "Acuity that would have it", Told::LogMar),
            ],
        )],
        how: &["Ten to the power of what is asked for less the acuity, both in logMAR."],
        source: "Definition (S. G. Whittaker and J. Lovie-Kitchin 1993).",
        care: Care::Power,
    },
    Calculator {
        word: "acuity-needed",
        title: "Acuity needed",
        question: "Which acuity meets this demand with this reserve?",
        fields: &[DEMAND, RESERVE],
        steps: &[ask(
            "demand_with_reserve",
            &[("demand_logmar", Typed("demand")), ("reserve_ratio", Typed("reserve"))],
            &[
                show("threshold_needed_logmar", "Acuity needed", Told::LogMar),
                show("threshold_needed_logmar", "Over 20 feet", Told::OverTwenty),
            ],
        )],
        how: &["What is asked for, less the logarithm of the reserve."],
        source: "Definition (derived); agrees with S. Narayanasamy and others, on demands in primary classrooms (seen).",
        care: Care::Plain,
    },
    Calculator {
        word: "focusing",
        title: "Focusing demand",
        question: "How strongly must an eye focus for this distance?",
        fields: &[Field::near("distance", "Distance from the eye", "23 cm")],
        steps: &[ask(
            "accommodative_demand",
            &[("distance_m", Typed("distance"))],
            &[show("demand_D", "Focusing demand", Told::Dioptres)],
        )],
        how: &["One over the distance in metres."],
        source: "Definition of the dioptre.",
        care: Care::Plain,
    },
    Calculator {
        word: "total-magnification",
        title: "Nearer, larger and with a device",
        question: "How much larger does it look after moving, enlarging and a device?",
        fields: &[
            Field::far("before", "Distance before", "6 m"),
            Field::far("after", "Distance after", "2 m"),
            Field::near("height_before", "Height before", "2.5 cm"),
            Field::near("height_after", "Height after", "2.5 cm"),
            Field::times("power", "Power of the device", "2.8").hint("1 for none."),
        ],
        steps: &[ask(
            "total_magnification",
            &[
                ("reference_distance_m", Typed("before")),
                ("new_distance_m", Typed("after")),
                ("reference_height_m", Typed("height_before")),
                ("new_height_m", Typed("height_after")),
                ("angular_power", Typed("power")),
            ],
            &[
                show("total", "Looks larger by", Told::Times),
                show("relative_distance", "By moving", Told::Times),
                show("relative_size", "By enlarging", Told::Times),
            ],
        )],
        how: &["The three are multiplied: distance before over after, height after over before, and the power."],
        source: GEOMETRY,
        care: Care::Plain,
    },
    Calculator {
        word: "required-power",
        title: "Power, seat or letter that is needed",
        question: "Which power, or without a device which seat or which letter, gives the reserve?",
        fields: &[ACUITY, LETTER, DISTANCE, RESERVE],
        steps: &[ask(
            "required_power_distance_height",
            &[
                ("threshold_logmar", Typed("acuity")),
                ("letter_height_m", Typed("letter")),
                ("distance_m", Typed("distance")),
                ("required_reserve_ratio", Typed("reserve")),
            ],
            &[
                show("seat_distance_m_no_device", "Without a device, sit no farther than", Told::Seat),
                show("letter_height_m_no_device", "Without a device, write at least", Told::Writing),
                show("power_needed", "From this seat, the power would be", Told::Times),
            ],
        )],
        how: &["The letter must look as large as the acuity times the reserve asks; each way by itself."],
        source: "Definitions (derived).",
        care: Care::Power,
    },
    Calculator {
        word: "farthest-seat",
        title: "Farthest seat",
        question: "From how far away can writing of this size be read?",
        fields: &[ACUITY, LETTER, POWER, RESERVE],
        steps: &[ask(
            "farthest_seat_with_power",
            &[
                ("threshold_logmar", Typed("acuity")),
                ("letter_height_m", Typed("letter")),
                ("angular_power", Typed("power")),
                ("required_reserve_ratio", Typed("reserve")),
            ],
            &[show("distance_m", "Sit no farther than", Told::Seat)],
        )],
        how: &["The distance at which the letter, times the power, looks as large as the acuity and the reserve ask."],
        source: "Definitions (derived). Rounded down.",
        care: Care::Power,
    },
    Calculator {
        word: "smallest-letter",
        title: "Smallest letter",
        question: "How tall must small letters be to be read from this distance?",
        fields: &[
            Field::acuity("acuity", "Acuity", "1.4 logMAR"),
            Field::far("distance", "Distance from the eye", "6 m"),
            Field::times("power", "Power of the device", "8").hint("1 for none."),
            Field::times("reserve", "Reserve needed", "2").hint(RESERVE.hint),
        ],
        steps: &[ask(
            "smallest_letter_with_power",
            &[
                ("threshold_logmar", Typed("acuity")),
                ("distance_m", Typed("distance")),
                ("angular_power", Typed("power")),
                ("required_reserve_ratio", Typed("reserve")),
            ],
            &[show("letter_height_m", "Write small letters at least", Told::Writing)],
        )],
        how: &["The height that looks as large, through the device, as the acuity and the reserve ask."],
        source: "Definitions (derived). Rounded up.",
        care: Care::Power,
    },
];
