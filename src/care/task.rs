//! What the student must see, and from which seat?
//!
//! A [`VisualTask`] is one thing to be seen: what, where, how far, how tall,
//! written with what, and what the student wants to do with it. A [`Seat`] is a
//! room with the usual place in it. Lengths are kept as typed beside the value.
//! Does not know the student's eyes; whether a task is readable is a question for
//! [`super::sight`].

use super::codes::codes;
use super::ids::{AccountId, SeatId, VisualTaskId};
use super::room::Layout;
use super::track::Track;
use super::typed::Typed;
use crate::vision::contrast::screen::ScreenReadings;
use crate::vision::units::{Lux, Metres, Millimetres};
use jiff::civil::Date;

codes! {
    /// A kind of thing to be seen. The codes are stable, the words translate.
    pub enum TaskCode {
        BoardWords = "board_words" : "words on the board",
        BoardMaths = "board_maths" : "maths on the board",
        Projector = "projector" : "projected slides",
        TeacherDemo = "teacher_demo" : "what the teacher shows",
        WallClock = "wall_clock" : "wall clock",
        ClassChart = "class_chart" : "chart on the classroom wall",
        ScienceDemo = "science_demo" : "science demonstration",
        MapFar = "map_far" : "map on the wall",
        AssemblyStage = "assembly_stage" : "stage in the assembly hall",
        SportsWatch = "sports_watch" : "watching sports",
        Scoreboard = "scoreboard" : "scoreboard",
        HallwayDoorNumber = "hallway_door_number" : "door numbers in the hallway",
        NameOnLocker = "name_on_locker" : "names on lockers",
        CafeteriaMenuBoard = "cafeteria_menu_board" : "menu board in the cafeteria",
        BusNumber = "bus_number" : "number of a bus",
        BusStopSign = "bus_stop_sign" : "sign at a bus stop",
        StreetName = "street_name" : "street names",
        TrafficSignalWatch = "traffic_signal_watch" : "traffic signal, standing still",
        HouseNumber = "house_number" : "house numbers",
        ShopAisleSign = "shop_aisle_sign" : "aisle signs in a shop",
        ShopMenuBoard = "shop_menu_board" : "menu board in a shop",
        PriceLabel = "price_label" : "price labels",
        Tv = "tv" : "television",
        FridgeList = "fridge_list" : "list on the fridge",
        Mail = "mail" : "letters and mail",
        MedicineLabel = "medicine_label" : "medicine label, with an adult",
        Recipe = "recipe" : "recipe",
        GameBoard = "game_board" : "board game",
        ComicOrBook = "comic_or_book" : "comic or book",
        Worksheet = "worksheet" : "worksheet",
        Textbook = "textbook" : "textbook",
        Dictionary = "dictionary" : "dictionary",
        Ruler = "ruler" : "ruler",
        MapNear = "map_near" : "map or atlas on the desk",
        ScreenTablet = "screen_tablet" : "screen or tablet",
        Phone = "phone" : "phone",
        Music = "music" : "sheet music",
        LabelClothing = "label_clothing" : "labels in clothing",
        HobbyOther = "hobby_other" : "hobby, or something else",
    }

    /// What the student wants to do with what is seen.
    pub enum Goal {
        NameIt = "name_it" : "notice or name one thing",
        Phrase = "phrase" : "read a phrase",
        Copy = "copy" : "read on and copy",
    }

    /// What the thing is shown on.
    pub enum Display {
        Whiteboard = "whiteboard" : "whiteboard",
        DarkBoard = "dark_board" : "dark board",
        Projector = "projector" : "projector",
        FlatScreen = "flat_screen" : "flat screen",
        PaperChart = "paper_chart" : "paper chart or sign",
        StudentScreen = "student_screen" : "the student's own screen",
        Page = "page" : "printed or written page",
        Object = "object" : "an object",
    }

    /// A marker and the ground it writes on.
    pub enum Marker {
        BlackOnWhite = "black_on_white" : "black on white",
        BlueOnWhite = "blue_on_white" : "blue on white",
        GreenOnWhite = "green_on_white" : "green on white",
        RedOnWhite = "red_on_white" : "red on white",
        Faint = "faint" : "faint or worn",
        WhiteOnDark = "white_on_dark" : "white on dark",
    }

    /// How strongly a thing stands out, as people judge it without a meter.
    pub enum ContrastClass {
        High = "high" : "high contrast",
        Medium = "medium" : "medium contrast",
        Low = "low" : "low contrast",
    }

    /// The light at the task or in a room.
    pub enum LightLevel {
        Dim = "dim" : "dim",
        Normal = "normal_indoor" : "normal indoor light",
        Bright = "bright_indoor" : "bright indoor light",
        Shade = "shade" : "shade outdoors",
        Sun = "sun" : "sun",
        LowSun = "low_sun" : "low sun",
        Night = "night_lights" : "night, with lights",
    }

    /// What has to be recognised. It sets how often a guess is right.
    pub enum TargetClass {
        Words = "words" : "words",
        Letters = "letters" : "single letters",
        Digits = "digits" : "digits",
        Pictures = "pictures" : "faces and pictures",
        Choice = "choice" : "one of a few choices",
    }

    /// Where light gets in the way.
    pub enum Glare {
        WindowInFront = "window_in_front" : "window in front",
        WindowBehind = "window_behind" : "window behind",
        Lamp = "lamp" : "lamp",
        GlossyPage = "glossy_page" : "glossy page",
        Screen = "screen" : "screen",
        Sun = "sun" : "sun",
        Snow = "snow" : "snow",
    }

    /// To which side of the board's centre the seat is, as the student sees it.
    pub enum Aside {
        Left = "left" : "left",
        Right = "right" : "right",
    }
}

impl TaskCode {
    /// The track a task of this kind is usually on; only a hint for the form.
    #[must_use]
    pub const fn usual_track(self) -> Track {
        match self {
            Self::PriceLabel
            | Self::Mail
            | Self::MedicineLabel
            | Self::Recipe
            | Self::GameBoard
            | Self::ComicOrBook
            | Self::Worksheet
            | Self::Textbook
            | Self::Dictionary
            | Self::Ruler
            | Self::MapNear
            | Self::ScreenTablet
            | Self::Phone
            | Self::Music
            | Self::LabelClothing => Track::Near,
            _ => Track::Distance,
        }
    }

    /// Whether only a mobility specialist sets and teaches it: streets and crossings.
    #[must_use]
    pub const fn for_mobility_specialist(self) -> bool {
        matches!(self, Self::StreetName | Self::TrafficSignalWatch)
    }
}

impl Marker {
    /// The contrast that people would call this.
    ///
    /// From 0.7 Weber high, from 0.4 medium, by the site's table as it is
    /// delivered: common practice.
    #[must_use]
    pub const fn contrast_class(self) -> ContrastClass {
        match self {
            Self::BlackOnWhite | Self::BlueOnWhite | Self::WhiteOnDark => ContrastClass::High,
            Self::GreenOnWhite | Self::RedOnWhite => ContrastClass::Medium,
            Self::Faint => ContrastClass::Low,
        }
    }
}

/// One thing the student must see.
#[derive(Clone, PartialEq)]
pub struct VisualTask {
    /// Which.
    pub id: VisualTaskId,
    /// What it is, as checked.
    pub what: NewTask,
    /// The room of its seat, if it has one.
    pub room: Option<String>,
    /// The distance of its seat to the board, if it has one.
    pub seat_distance: Option<Typed<Metres>>,
    /// Who entered it.
    pub created_by: AccountId,
    /// Whether it is no longer in use.
    pub retired: bool,
    /// For edits by two people.
    pub version: i64,
}

/// One thing the student must see, as checked from a form.
#[derive(Clone, PartialEq)]
pub struct NewTask {
    /// What kind of thing.
    pub code: TaskCode,
    /// What people here call it.
    pub name: String,
    /// Where, in words, when no seat says it.
    pub place: String,
    /// The seat it is seen from.
    pub seat: Option<SeatId>,
    /// The track it belongs to.
    pub track: Track,
    /// What the student wants to do with it.
    pub goal: Goal,
    /// The distance to it, where it differs from the seat's or there is no seat.
    pub own_distance: Option<Typed<Metres>>,
    /// The height of its small letters, or of the thing itself.
    pub x_height: Option<Typed<Millimetres>>,
    /// What it is shown on.
    pub display: Option<Display>,
    /// Written with what, on what.
    pub marker: Option<Marker>,
    /// The light there.
    pub light: Option<LightLevel>,
    /// What a meter read on the screen, for [`Display::Projector`].
    pub screen: Option<ScreenLight>,
    /// What has to be recognised.
    pub target: TargetClass,
    /// Among how many, for [`TargetClass::Choice`].
    pub choices: Option<i64>,
    /// Whether size and distance were measured with a tape, not guessed.
    pub measured: bool,
    /// Who wants it seen, in words.
    pub wanted_by: String,
}

/// What a light meter read on the screen of a projector, held against it and
/// facing the projector.
#[derive(Debug, Clone, PartialEq)]
pub struct ScreenLight {
    /// With a white slide.
    pub white: Typed<Lux>,
    /// With a black slide.
    pub black: Typed<Lux>,
    /// With the projector off.
    pub off: Typed<Lux>,
}

impl ScreenLight {
    /// The readings without what was typed.
    #[must_use]
    pub const fn readings(&self) -> ScreenReadings {
        ScreenReadings { white: self.white.value, black: self.black.value, off: self.off.value }
    }
}

impl VisualTask {
    /// The distance that counts: its own, or its seat's.
    #[must_use]
    pub fn distance(&self) -> Option<&Typed<Metres>> {
        self.what.own_distance.as_ref().or(self.seat_distance.as_ref())
    }

    /// Where it is, in words.
    #[must_use]
    pub fn place(&self) -> &str {
        if self.what.place.is_empty() { self.room.as_deref().unwrap_or("") } else { &self.what.place }
    }
}

/// What a classroom teacher may know of a task.
#[derive(Clone, PartialEq)]
pub struct TaskGlimpse {
    /// Which.
    pub id: VisualTaskId,
    /// What kind of thing.
    pub code: TaskCode,
    /// What people here call it.
    pub name: String,
    /// Where, in words.
    pub place: String,
    /// The track, which tells a far task from a near one.
    pub track: Track,
    /// How far.
    pub distance: Option<Typed<Metres>>,
    /// How tall the small letters are.
    pub x_height: Option<Typed<Millimetres>>,
    /// Written with what, on what.
    pub marker: Option<Marker>,
    /// What has to be recognised.
    pub target: TargetClass,
    /// Among how many.
    pub choices: Option<i64>,
}

/// A room with the student's usual seat in it.
#[derive(Clone, PartialEq)]
pub struct Seat {
    /// Which.
    pub id: SeatId,
    /// What it is, as checked.
    pub what: NewSeat,
    /// Who entered it.
    pub created_by: AccountId,
    /// Whether it is no longer in use.
    pub retired: bool,
    /// For edits by two people.
    pub version: i64,
}

/// A seat, as checked from a form.
#[derive(Clone, PartialEq)]
pub struct NewSeat {
    /// The room.
    pub room: String,
    /// From the eye straight to the plane of the board.
    pub distance: Typed<Metres>,
    /// From the centre of the board sideways, and to which side.
    pub aside: Option<(Typed<Metres>, Aside)>,
    /// How wide the board is.
    pub board_width: Option<Typed<Metres>>,
    /// Light at the desk, measured.
    pub illuminance: Option<Lux>,
    /// The light in words.
    pub light: Option<LightLevel>,
    /// Where light gets in the way.
    pub glare: Vec<Glare>,
    /// Where the rows of seats stand, as far as it was entered.
    pub layout: Layout,
    /// Anything else.
    pub note: String,
    /// What is unusual about it and was confirmed.
    pub confirmed: String,
    /// When it was measured.
    pub measured_on: Option<Date>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn street_and_crossing_tasks_are_for_the_mobility_specialist() {
        let kept: Vec<_> = TaskCode::ALL.iter().filter(|code| code.for_mobility_specialist()).collect();
        assert_eq!(kept, [&TaskCode::StreetName, &TaskCode::TrafficSignalWatch]);
    }

    #[test]
    fn a_distance_of_its_own_counts_before_the_seats() {
        let metres = |value: f64| Typed::new(format!("{value} m"), Metres::literal(value));
        let mut task = VisualTask {
            id: VisualTaskId::of(uuid::Uuid::nil()),
            what: NewTask {
                code: TaskCode::WallClock,
                name: "Clock".to_owned(),
                place: String::new(),
                seat: None,
                track: TaskCode::WallClock.usual_track(),
                goal: Goal::NameIt,
                own_distance: None,
                x_height: None,
                display: None,
                marker: None,
                light: None,
                screen: None,
                target: TargetClass::Digits,
                choices: None,
                measured: false,
                wanted_by: String::new(),
            },
            room: Some("Room 4".to_owned()),
            seat_distance: Some(metres(4.0)),
            created_by: AccountId::of(uuid::Uuid::nil()),
            retired: false,
            version: 1,
        };
        assert_eq!(task.distance(), Some(&metres(4.0)));
        assert_eq!(task.place(), "Room 4");
        task.what.own_distance = Some(metres(6.5));
        assert_eq!(task.distance(), Some(&metres(6.5)));
    }
}
