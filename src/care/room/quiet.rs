//! To which side of the board does this student sit best?
//!
//! What is known of the eyes is put into one question, where the board should
//! lie: eyes that are quietest looking left want the board on their left, so the
//! seat is on the right; a right side that is missing, or a left eye that sees
//! alone, asks for the same. Last comes the room: away from the windows.
//!
//! Common practice for each; the order is our own proposal. The first that is
//! known decides, and one that points the other way is told beside it, never
//! weighed: that is a question for the clinician.
//! Does not know the seats. Read next: `plan.rs`.

use crate::care::codes::codes;
use crate::care::evaluation::{FieldPattern, Gaze};
use crate::care::intake::HeadTurn;
use crate::care::sight::Sight;
use crate::care::task::Aside;
use crate::care::track::Eye;

codes! {
    /// Why one side is the better one.
    pub enum Reason {
        Gaze = "gaze" : "the gaze in which the eyes are quietest",
        HeadTurn = "head_turn" : "how the head is turned to see",
        Field = "field" : "the side of the field that sees",
        BetterEye = "better_eye" : "the better eye",
        Window = "window" : "the side away from the windows",
    }
}

/// The side to sit on, facing the board, and what says so.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Quiet {
    /// Every reason that is known, with the side it asks for, the first decides.
    pub reasons: Vec<(Reason, Aside)>,
}

const fn other(side: Aside) -> Aside {
    match side {
        Aside::Left => Aside::Right,
        Aside::Right => Aside::Left,
    }
}

impl Quiet {
    /// What the record says of the eyes, then of the room.
    #[must_use]
    pub fn of(sight: &Sight, window: Option<Aside>) -> Self {
        let newest = |pick: &dyn Fn(&crate::care::sight::Bearing) -> Option<Aside>| {
            sight.evaluations.iter().find_map(|evaluated| pick(&evaluated.bearing))
        };
        // The board lies where the eyes look, so the seat is across from it.
        let gaze = newest(&|bearing| match bearing.gaze? {
            Gaze::Left => Some(Aside::Right),
            Gaze::Right => Some(Aside::Left),
            Gaze::Straight | Gaze::Up | Gaze::Down => None,
        });
        // A head turned to the right leaves the eyes on the left, and so on; what a
        // clinician found of the gaze, straight ahead too, says it better.
        let found = sight.evaluations.iter().any(|evaluated| evaluated.bearing.gaze.is_some());
        let head = match sight.head_turn {
            Some(HeadTurn::Right) if !found => Some(Aside::Right),
            Some(HeadTurn::Left) if !found => Some(Aside::Left),
            _ => None,
        };
        let field = newest(&|bearing| match (
            bearing.field.contains(&FieldPattern::RightSide),
            bearing.field.contains(&FieldPattern::LeftSide),
        ) {
            (true, false) => Some(Aside::Right),
            (false, true) => Some(Aside::Left),
            _ => None,
        });
        let eye = sight.evaluations.iter().find_map(|evaluated| match evaluated.better_eye? {
            Eye::Left => Some(Aside::Right),
            Eye::Right => Some(Aside::Left),
            Eye::Both | Eye::Either => None,
        });
        let reasons = [
            (Reason::Gaze, gaze),
            (Reason::HeadTurn, head),
            (Reason::Field, field),
            (Reason::BetterEye, eye),
            (Reason::Window, window.map(other)),
        ];
        Self { reasons: reasons.into_iter().filter_map(|(reason, side)| Some((reason, side?))).collect() }
    }

    /// The side that the first reason asks for; none where nothing is known.
    #[must_use]
    pub fn side(&self) -> Option<Aside> {
        self.reasons.first().map(|(_, side)| *side)
    }

    /// The reasons that ask for this side, or for the other one.
    pub fn asking_for(&self, wanted: Aside) -> impl Iterator<Item = Reason> + '_ {
        self.reasons.iter().filter(move |(_, side)| *side == wanted).map(|(reason, _)| *reason)
    }

    /// The reasons that point the other way.
    pub fn against(&self) -> impl Iterator<Item = Reason> + '_ {
        let against = self.side().map(other);
        self.reasons.iter().filter(move |(_, side)| Some(*side) == against).map(|(reason, _)| *reason)
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;
    use crate::care::journey::fact::Source;
    use crate::care::sight::{Bearing, Evaluated, InClass};

    fn sight(gaze: Option<Gaze>, field: &[FieldPattern], better_eye: Option<Eye>) -> Sight {
        let evaluated = Evaluated {
            on: date(2026, 9, 1),
            source: Source::Signed,
            rows: Vec::new(),
            better_eye,
            contrast: None,
            colour_loss: false,
            pupil: None,
            refraction: Vec::new(),
            lighting: None,
            bearing: Bearing { gaze, field: field.to_vec() },
        };
        Sight { evaluations: vec![evaluated], in_class: InClass::NotKnown, ..Sight::unknown() }
    }

    #[test]
    fn the_board_lies_where_the_eyes_are_quiet_and_where_the_field_sees() {
        for (gaze, field, eye, side) in [
            (Some(Gaze::Left), &[][..], None, Some(Aside::Right)),
            (Some(Gaze::Right), &[], None, Some(Aside::Left)),
            (Some(Gaze::Straight), &[], None, None),
            (None, &[FieldPattern::RightSide], None, Some(Aside::Right)),
            (None, &[FieldPattern::LeftSide], None, Some(Aside::Left)),
            (None, &[FieldPattern::LeftSide, FieldPattern::RightSide], None, None),
            (None, &[FieldPattern::Lower], None, None),
            (None, &[], Some(Eye::Left), Some(Aside::Right)),
            (None, &[], Some(Eye::Right), Some(Aside::Left)),
        ] {
            assert_eq!(Quiet::of(&sight(gaze, field, eye), None).side(), side, "{gaze:?} {field:?} {eye:?}");
        }
    }

    #[test]
    fn the_window_decides_only_where_nothing_of_the_eyes_does() {
        let nothing = Quiet::of(&Sight::unknown(), None);
        assert_eq!((nothing.side(), nothing.reasons.len()), (None, 0));
        let window = Quiet::of(&Sight::unknown(), Some(Aside::Left));
        assert_eq!((window.side(), window.against().count()), (Some(Aside::Right), 0));
        let both = Quiet::of(&sight(Some(Gaze::Right), &[], Some(Eye::Right)), Some(Aside::Left));
        assert_eq!(both.side(), Some(Aside::Left));
        assert_eq!(both.against().collect::<Vec<_>>(), [Reason::Window]);
        let agreeing: Vec<Reason> = both.asking_for(Aside::Left).collect();
        assert_eq!(agreeing, [Reason::Gaze, Reason::BetterEye]);
    }

    #[test]
    fn a_turned_head_counts_until_a_clinician_found_the_gaze() {
        let turned = |gaze| Sight { head_turn: Some(HeadTurn::Right), ..sight(gaze, &[], None) };
        assert_eq!(Quiet::of(&turned(None), None).reasons, [(Reason::HeadTurn, Aside::Right)]);
        assert_eq!(Quiet::of(&turned(Some(Gaze::Right)), None).reasons, [(Reason::Gaze, Aside::Left)]);
        assert_eq!(Quiet::of(&turned(Some(Gaze::Straight)), None).reasons, []);
    }

    #[test]
    fn the_newest_evaluation_that_says_something_counts() {
        let mut known = sight(None, &[], None);
        known.evaluations.extend(sight(Some(Gaze::Left), &[], Some(Eye::Right)).evaluations);
        known.evaluations.extend(sight(Some(Gaze::Right), &[], Some(Eye::Left)).evaluations);
        assert_eq!(Quiet::of(&known, None).reasons, [(Reason::Gaze, Aside::Right), (Reason::BetterEye, Aside::Left)]);
    }
}
