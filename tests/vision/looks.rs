//! The outline of a field, the looks of a sweep and the travel of a tube, each
//! against a second calculation: rays one by one, and a trace through lenses.

use farpoint::vision::demand::Seat;
use farpoint::vision::telescope::coverage::{Board, INSCRIBED_SQUARE, board_coverage, views_from_the_side};
use farpoint::vision::telescope::field_width;
use farpoint::vision::telescope::focusing::left_far;
use farpoint::vision::telescope::near::{Reach, reach};
use farpoint::vision::telescope::optics::{Afocal, OpticsError};
use farpoint::vision::telescope::outline::field_on_board;
use farpoint::vision::telescope::sweep::{Sweep, along_a_line};
use farpoint::vision::units::{Degrees, Dioptres, Fraction, Magnification, Metres};
use proptest::prelude::*;

fn metres(value: f64) -> Metres {
    Metres::new(value).expect("a length of the test")
}

fn degrees(value: f64) -> Degrees {
    Degrees::new(value).expect("an angle of the test")
}

fn dioptres(value: f64) -> Dioptres {
    Dioptres::new(value).expect("a power of the test")
}

fn times(value: f64) -> Magnification {
    Magnification::new(value).expect("a power of the test")
}

/// From the eye to a point of the board: right, up, ahead.
type Ray = [f64; 3];

/// The angle between two rays, in degrees, by their cross product.
fn between(one: Ray, other: Ray) -> f64 {
    let cross = [
        one[1] * other[2] - one[2] * other[1],
        one[2] * other[0] - one[0] * other[2],
        one[0] * other[1] - one[1] * other[0],
    ];
    let dot: f64 = one.iter().zip(other).map(|(one, other)| one * other).sum();
    let across = cross.iter().map(|part| part * part).sum::<f64>().sqrt();
    across.atan2(dot).to_degrees()
}

fn sweep(width: f64, (ahead, aside): (f64, f64), field: f64, overlap: f64) -> Sweep {
    let seat = Seat { to_the_board: metres(ahead), aside: metres(aside) };
    along_a_line(metres(width), seat, degrees(field), Fraction::new(overlap).expect("a part")).expect("a sweep")
}

proptest! {
    #[test]
    fn the_outline_holds_the_points_that_rays_find_in_the_field(
        ahead in 0.5_f64..12.0, direction in -60.0_f64..60.0, field in 1.0_f64..25.0,
        along in -1.5_f64..1.5, up in -1.5_f64..1.5,
    ) {
        let shown = field_on_board(metres(ahead), degrees(direction), degrees(field)).expect("on the board");
        let (a, b) = (shown.half_width.get(), shown.half_height.get());
        let (x, y) = (shown.middle.get() + along * a, up * b);
        let inside = along.hypot(up);
        // Points nearer to the edge than a thousandth tell nothing.
        prop_assume!((inside - 1.0).abs() > 1e-3);
        let sight = [shown.looked_at.get(), 0.0, ahead];
        let angle = between(sight, [x, y, ahead]);
        prop_assert_eq!(inside < 1.0, angle < field / 2.0, "{} of the way, {} degrees", inside, angle);
    }

    #[test]
    fn every_point_of_the_line_is_seen_and_the_looks_are_those_that_were_counted(
        width in 0.5_f64..6.0, ahead in 1.0_f64..12.0, aside in -4.0_f64..4.0,
        field in 2.0_f64..25.0, overlap in 0.0_f64..0.6, part in 0.0_f64..1.0,
    ) {
        // Beyond that the board is skimmed, and refused.
        prop_assume!((aside.abs() + width / 2.0) / ahead < 3.0);
        let found = sweep(width, (ahead, aside), field, overlap);
        let seat = Seat { to_the_board: metres(ahead), aside: metres(aside) };
        let counted = views_from_the_side(
            metres(width), seat, degrees(field), Fraction::new(overlap).expect("a part")).expect("a count");
        prop_assert_eq!(found.looks.len(), counted.views_across as usize);
        prop_assert_eq!(found.board, counted.board);
        // A point of the line, as a ray from the eye, and the rays of the looks.
        let x = part * width - width / 2.0 - aside;
        let seen = found.looks.iter().any(|look| {
            let sight = [look.direction.radians().sin(), 0.0, look.direction.radians().cos()];
            between(sight, [x, 0.0, ahead]) <= field / 2.0 + 1e-6
        });
        prop_assert!(seen, "{} m from the left edge is in no look", part * width);
        let (first, last) = (&found.looks[0], &found.looks[found.looks.len() - 1]);
        prop_assert!(first.from.get().abs() < 1e-9 && (last.to.get() - width).abs() < 1e-9);
        for pair in found.looks.windows(2) {
            // The angle that both see, as a share of the field.
            let both = field - (pair[1].direction.get() - pair[0].direction.get());
            prop_assert!(both / field >= overlap - 1e-9);
            prop_assert!((both / field - found.overlap.expect("two looks").get()).abs() < 1e-9);
        }
    }

    #[test]
    fn the_other_side_of_the_room_is_the_same_seen_in_a_mirror(
        width in 1.0_f64..5.0, ahead in 2.0_f64..9.0, aside in 0.0_f64..3.0, field in 4.0_f64..15.0,
    ) {
        let (left, right) = (sweep(width, (ahead, -aside), field, 0.2), sweep(width, (ahead, aside), field, 0.2));
        prop_assert_eq!(left.looks.len(), right.looks.len());
        for (one, other) in left.looks.iter().zip(right.looks.iter().rev()) {
            prop_assert!((one.from.get() - (width - other.to.get())).abs() < 1e-9);
            prop_assert!((one.width().get() - other.width().get()).abs() < 1e-9);
        }
    }

    #[test]
    fn a_focused_tube_sends_the_light_that_the_eye_needs(
        front in 5.0_f64..20.0, power in 1.5_f64..10.0, keplerian in any::<bool>(),
        distance in 0.5_f64..10.0, correction in -12.0_f64..6.0,
    ) {
        let back = if keplerian { front * power } else { -front * power };
        let device = Afocal::new(dioptres(front), dioptres(back)).expect("a telescope");
        let set = device.focused_for_eye(metres(distance), dioptres(correction));
        prop_assume!(set.is_ok());
        let set = set.expect("checked above");
        // One ray from the axis: height and angle, through lens, tube and lens.
        let (mut height, mut angle) = (1.0, 1.0 / distance);
        angle -= front * height;
        height += angle * set.tube.get();
        angle -= back * height;
        let leaving = -angle / height;
        prop_assert!((leaving - correction).abs() < 1e-6, "{} leaves, {} is needed", leaving, correction);
    }

    #[test]
    fn what_a_label_promises_holds_for_the_lenses_behind_it(
        focal in 0.03_f64..0.2, power in 1.5_f64..12.0, keplerian in any::<bool>(),
        nearest in 0.3_f64..3.0, farther in 0.0_f64..10.0, correction in -15.0_f64..15.0,
    ) {
        let distance = nearest + farther;
        let told = reach(times(power), metres(nearest), metres(distance), dioptres(correction));
        let ocular = if keplerian { power / focal } else { -power / focal };
        let device = Afocal::new(dioptres(1.0 / focal), dioptres(ocular)).expect("a telescope");
        let longest = device.focused_for(metres(nearest)).expect("beyond the focal length");
        // Longer tubes than this are not held in a hand.
        prop_assume!(longest.tube.get() <= 0.3);
        let set = device.focused_for_eye(metres(distance), dioptres(correction)).map(|set| set.extension.get());
        let slack = 0.01 * longest.extension.get();
        match told.expect("within the range") {
            Reach::Reaches => {
                let extension = set.expect("a tube");
                prop_assert!(extension >= -slack && extension <= longest.extension.get() + slack);
            }
            Reach::TooShort => {
                prop_assert!(set.is_err() || set.is_ok_and(|extension| extension >= longest.extension.get() - slack));
            }
            Reach::NotKnown => {}
        }
    }
}

#[test]
fn straight_ahead_the_outline_is_as_wide_as_the_field() {
    let shown = field_on_board(metres(6.0), degrees(0.0), degrees(7.0)).expect("on the board");
    let width = field_width(degrees(7.0), metres(6.0)).expect("a width");
    assert!((shown.width() - width).get().abs() < 1e-12);
    assert!((shown.half_width - shown.half_height).get().abs() < 1e-12);
    assert_eq!((shown.middle, shown.looked_at), (metres(0.0), metres(0.0)));
}

#[test]
fn a_line_straight_ahead_takes_about_as_many_looks_as_the_board_is_wide() {
    // Reference case `T05-board-a`: 6 views by width. By angle the far ends of
    // the board are seen under less: 33.4 - 7 over 7 x 0.8 is 4.7, and 6, too.
    let board = Board { width: metres(2.4), height: metres(1.2) };
    let by_width =
        board_coverage(board, metres(4.0), degrees(7.0), Fraction::literal(0.2), INSCRIBED_SQUARE).expect("looks");
    let found = sweep(2.4, (4.0, 0.0), 7.0, 0.2);
    assert_eq!((found.looks.len(), by_width.views_across), (6, 6));
    // Reference case `T05-board-angle-side`.
    assert_eq!(sweep(2.4, (3.0, 2.5), 7.0, 0.2).looks.len(), 5);
}

#[test]
fn one_look_goes_to_the_middle_of_the_angle() {
    let found = sweep(0.5, (4.0, 0.0), 9.0, 0.2);
    assert_eq!(found.looks.len(), 1);
    assert_eq!((found.looks[0].from, found.looks[0].to), (metres(0.0), metres(0.5)));
    assert_eq!((found.seen_at_once, found.overlap), (Fraction::literal(1.0), None));
    assert!(found.looks[0].direction.get().abs() < 1e-12);
}

#[test]
fn looks_outside_the_formulas_are_refused_by_name() {
    let refused = |ahead, direction, field| {
        field_on_board(metres(ahead), degrees(direction), degrees(field)).expect_err("refused").to_string()
    };
    assert_eq!(refused(0.0, 0.0, 7.0), "distance must be more than 0 m and at most 10000 m, not 0 m");
    assert_eq!(
        refused(4.0, 0.0, 91.0),
        "true field must be more than 0 degrees and at most 90 degrees, not 91 degrees"
    );
    assert_eq!(
        refused(4.0, -86.0, 8.0),
        "far edge of the field from straight ahead must be at least 0 degrees and less than 89 degrees, not 90 degrees"
    );
    let seat = Seat::in_front(metres(4.0));
    let swept = |width, overlap| along_a_line(metres(width), seat, degrees(0.05), Fraction::literal(overlap));
    assert_eq!(
        swept(0.0, 0.2).expect_err("refused").to_string(),
        "board width must be more than 0 m and at most 100 m, not 0 m"
    );
    assert_eq!(swept(4.0, 1.0).expect_err("refused").quantity, "overlap");
    assert_eq!(swept(4.0, 0.5).expect_err("refused").quantity, "number of looks");
}

#[test]
fn focusing_outside_the_formulas_is_refused_by_name() {
    let keplerian = Afocal::new(dioptres(8.0), dioptres(64.0)).expect("a telescope");
    let set = |distance, correction| keplerian.focused_for_eye(metres(distance), dioptres(correction));
    assert_eq!(set(0.125, 0.0), Err(OpticsError::InsideFocalLength { focal: metres(0.125) }));
    assert_eq!(
        set(4.0, -41.0).expect_err("refused").to_string(),
        "refractive error must be at least -40 D and at most 40 D, not -41 D"
    );
    // An eye that would need a lens as strong as the ocular.
    let weak = Afocal::new(dioptres(10.0), dioptres(-20.0)).expect("a telescope");
    assert_eq!(weak.focused_for_eye(metres(4.0), dioptres(-20.0)), Err(OpticsError::ErrorTooLarge));
    assert!(left_far(times(0.5), metres(4.0)).is_err() && left_far(times(6.0), metres(0.0)).is_err());
}

#[test]
fn left_far_is_the_approximation_of_the_exact_vergence() {
    // Two reference cases of exit vergence, `T05-vergence-k8-6m` and `-g2-0p4m`.
    for (front, back, distance) in [(8.0, 64.0, 6.0), (10.0, -20.0, 0.4)] {
        let device = Afocal::new(dioptres(front), dioptres(back)).expect("a telescope");
        let exact = device.exit_vergence(metres(distance)).expect("a picture");
        let power = times(device.signed_power().abs());
        let left = left_far(power, metres(distance)).expect("a vergence").get();
        assert!((left + exact.approximate.get()).abs() < 1e-12);
        // A Keplerian asks for more, a Galilean for less.
        assert_eq!(-exact.exact.get() > left, back > 0.0);
    }
}
