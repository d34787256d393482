//! Where seats stand before a board, by a second way: the room as points on the
//! floor, the angle between two arrows by their dot product.

use farpoint::vision::demand::Seat;
use farpoint::vision::room::{BoardSeen, Grid, Place, board_seen};
use farpoint::vision::units::Metres;

fn metres(value: f64) -> Metres {
    Metres::new(value).expect("a length of the test")
}

/// A point on the floor: right along the wall of the board, and back from it.
#[derive(Clone, Copy)]
struct Point(f64, f64);

impl Point {
    fn minus(self, other: Self) -> Self {
        Self(self.0 - other.0, self.1 - other.1)
    }

    fn dot(self, other: Self) -> f64 {
        self.0 * other.0 + self.1 * other.1
    }

    fn long(self) -> f64 {
        self.dot(self).sqrt()
    }
}

/// The angle between the look at a point of the board and the look straight at the wall.
fn from_straight_on(eye: Point, at: Point) -> f64 {
    let (look, straight) = (at.minus(eye), Point(0.0, -1.0));
    (look.dot(straight) / (look.long() * straight.long())).clamp(-1.0, 1.0).acos().to_degrees()
}

/// The same board looked at point by point.
fn point_by_point(eye: Point, width: f64) -> (f64, f64, f64) {
    let angles = (0..=10_000).map(|step| {
        let along = (f64::from(step) / 10_000.0 - 0.5) * width;
        from_straight_on(eye, Point(along, 0.0))
    });
    let (least, most) = angles.fold((f64::MAX, f64::MIN), |(least, most), angle| (least.min(angle), most.max(angle)));
    (least, from_straight_on(eye, Point(0.0, 0.0)), most)
}

#[test]
fn a_board_is_seen_as_point_by_point() {
    for (back, right, width) in
        [(2.0, 0.0, 2.4), (3.0, 2.2, 2.4), (3.0, -2.2, 2.4), (1.2, 0.9, 2.4), (8.4, -4.5, 1.2), (0.5, 6.0, 3.6)]
    {
        let BoardSeen { to_the_middle, middle, near_edge, far_edge } =
            board_seen(Seat { to_the_board: metres(back), aside: metres(right) }, metres(width)).expect("a board");
        let eye = Point(right, back);
        let (least, straight, most) = point_by_point(eye, width);
        assert!((to_the_middle.get() - eye.long()).abs() < 1e-12);
        assert!((middle.get() - straight).abs() < 1e-6, "{back} {right}: {middle:?} {straight}");
        assert!((far_edge.get() - most).abs() < 1e-6, "{back} {right}: {far_edge:?} {most}");
        // Before the board the nearest of ten thousand points is not quite straight ahead.
        assert!((near_edge.get() - least).abs() < 0.02, "{back} {right}: {near_edge:?} {least}");
    }
}

#[test]
fn seats_stand_a_gap_apart_and_mirror_each_other_about_the_board() {
    for (rows, row_seats, board_aside) in [(1, 1, 0.0), (4, 5, 0.0), (3, 6, 0.0), (5, 10, 0.7), (2, 12, -1.1)] {
        let grid = Grid {
            rows,
            row_seats,
            first_row: metres(2.1),
            row_gap: metres(1.3),
            seat_gap: metres(0.9),
            board_aside: metres(board_aside),
        };
        let all: Vec<Place> = grid.places().collect();
        assert_eq!(all.len(), (rows * row_seats) as usize);
        // The middle of the rows, found by adding up all seats, is where the board is not.
        let seats: Vec<Seat> = all.iter().map(|place| grid.seat(*place).expect("a seat")).collect();
        let middle = seats.iter().map(|seat| seat.aside.get()).sum::<f64>() / seats.len() as f64;
        assert!((middle + board_aside).abs() < 1e-9, "{middle}");
        for pair in all.windows(2) {
            let (one, next) = (grid.seat(pair[0]).expect("a seat"), grid.seat(pair[1]).expect("a seat"));
            let (back, right) = (next.to_the_board.get() - one.to_the_board.get(), next.aside.get() - one.aside.get());
            if pair[0].row == pair[1].row {
                assert!(back.abs() < 1e-9 && (right - 0.9).abs() < 1e-9, "{pair:?}");
            } else {
                assert!((back - 1.3).abs() < 1e-9 && pair[1].seat == 1, "{pair:?}");
            }
        }
        assert!((seats[0].to_the_board.get() - 2.1).abs() < 1e-12);
    }
}

#[test]
fn a_place_outside_and_a_board_of_nothing_are_named() {
    let grid = Grid {
        rows: 2,
        row_seats: 3,
        first_row: metres(2.0),
        row_gap: metres(1.0),
        seat_gap: metres(1.0),
        board_aside: metres(0.0),
    };
    let refused = |row, seat| grid.seat(Place { row, seat }).expect_err("no such place").to_string();
    assert_eq!(refused(3, 1), "row must be at least 1 and at most 2, not 3");
    assert_eq!(refused(1, 0), "seat in the row must be at least 1 and at most 3, not 0");
    let nothing = board_seen(Seat::in_front(metres(3.0)), metres(0.0)).expect_err("no board").to_string();
    assert!(nothing.starts_with("board width must be more than 0 m"), "{nothing}");
}
