//! Operations on contrast, on paper and on screens.

use super::figures::{Figures, Found};
use super::inputs::Inputs;
use super::refusal::Fault;
use super::{Input, Operation};
use crate::vision::contrast::screen::{Projector, ScreenReadings, colour_pair, ratio_as_weber};
use crate::vision::contrast::{
    Contrasts, LogContrastSensitivity, Polarity, Weber, below_full, contrasts, contrasts_of_surfaces, root_mean_square,
    weber_of_michelson,
};
use crate::vision::units::{Luminance, count};

const TOPIC: &str = "contrast";

const DARK_ON_LIGHT: &str = "dark_on_light";
const LIGHT_ON_DARK: &str = "light_on_dark";
const WHITE: Input = Input::number("projector_white_lux", "the projector's white on the screen", "lux");
const BLACK: Input = Input::number("projector_black_lux", "the projector's black on the screen", "lux");

pub(super) const OPERATIONS: &[Operation] = &[
    Operation {
        name: "contrasts",
        topic: TOPIC,
        question: "How much does the target stand out, in every measure?",
        inputs: &[
            Input::number("target_luminance_cd_m2", "the luminance of the target", "candelas per square metre"),
            Input::number("background_luminance_cd_m2", "the luminance of the ground", "candelas per square metre"),
            Input::plain("target_area_fraction", "the part of the area that the target covers").optional(),
        ],
        answers: contrast,
    },
    Operation {
        name: "contrast_from_reflectance",
        topic: TOPIC,
        question: "How much does a matt surface stand out from another in the same light?",
        inputs: &[
            Input::plain("target_reflectance", "the reflectance of the target"),
            Input::plain("background_reflectance", "the reflectance of the ground"),
        ],
        answers: surfaces,
    },
    Operation {
        name: "michelson_to_weber",
        topic: TOPIC,
        question: "What is this Michelson contrast as Weber contrast?",
        inputs: &[
            Input::plain("michelson", "the Michelson contrast"),
            Input::word("polarity", "which is the darker", &[DARK_ON_LIGHT, LIGHT_ON_DARK]),
        ],
        answers: to_weber,
    },
    Operation {
        name: "projector_contrast",
        topic: TOPIC,
        question: "Which contrast is left on a screen in this room?",
        inputs: &[
            WHITE,
            BLACK,
            Input::number("ambient_on_screen_lux", "the light of the room on the screen", "lux"),
            Input::plain("screen_reflectance_or_gain", "the screen's reflectance or gain"),
        ],
        answers: projected,
    },
    Operation {
        name: "max_ambient_for_ratio",
        topic: TOPIC,
        question: "How much light may fall on the screen for this ratio of white to black?",
        inputs: &[WHITE, BLACK, Input::plain("system_ratio", "the ratio of white to black wanted")],
        answers: most_ambient,
    },
    Operation {
        name: "max_ambient_for_contrast",
        topic: TOPIC,
        question: "How much light may fall on the screen for this contrast of dark text?",
        inputs: &[WHITE, BLACK, Input::plain("weber_dark_text", "the Weber contrast wanted")],
        answers: most_ambient_for,
    },
    Operation {
        name: "screen_readings",
        topic: TOPIC,
        question: "What do three readings of a meter say of a projected picture?",
        inputs: &[
            Input::number("white_reading_lux", "the reading with a white slide", "lux"),
            Input::number("black_reading_lux", "the reading with a black slide", "lux"),
            Input::number("off_reading_lux", "the reading with the projector off", "lux"),
            Input::plain("slide_weber", "the contrast on the slide, 1 for black and white"),
        ],
        answers: readings,
    },
    Operation {
        name: "log_cs_to_threshold",
        topic: TOPIC,
        question: "Which contrast is just seen with this sensitivity?",
        inputs: &[Input::number("log_cs", "the contrast sensitivity", "log units")],
        answers: threshold,
    },
    Operation {
        name: "log_cs_from_letters",
        topic: TOPIC,
        question: "Which sensitivity is so many letters on a contrast chart?",
        inputs: &[
            Input::count("letters_read", "the letters read"),
            Input::count("letters_in_full_contrast_row", "the letters printed in full contrast"),
            Input::number("log_per_letter", "what one letter is worth", "log units"),
        ],
        answers: letters,
    },
    Operation {
        name: "wcag_ratio",
        topic: TOPIC,
        question: "Which contrast ratio of the web guideline do two screen colours have?",
        inputs: &[
            Input::numbers("foreground_rgb8", "the colour of the text, red, green and blue from 0 to 255", ""),
            Input::numbers("background_rgb8", "the colour behind it, red, green and blue from 0 to 255", ""),
        ],
        answers: colours,
    },
    Operation {
        name: "wcag_to_weber",
        topic: TOPIC,
        question: "What is a ratio of the web guideline as Weber contrast?",
        inputs: &[
            Input::plain("ratio", "the contrast ratio"),
            Input::plain("background_relative_luminance", "the ground luminance as a part of white"),
        ],
        answers: ratio_to_weber,
    },
    Operation {
        name: "log_units_below_full_contrast",
        topic: TOPIC,
        question: "Which contrast is so far below full contrast on a matching chart?",
        inputs: &[Input::number("log_units_below_full_contrast", "how far below full contrast", "log units")],
        answers: below,
    },
];

fn measures(found: &Contrasts) -> Figures {
    Figures::from([("weber_magnitude", found.weber.get()), ("michelson", found.michelson.get())])
}

fn contrast(inputs: &Inputs<'_>) -> Found {
    let target = inputs.typed("target_luminance_cd_m2", Luminance::new)?;
    let ground = inputs.typed("background_luminance_cd_m2", Luminance::new)?;
    let found = contrasts(target, ground)?;
    let word = match found.polarity {
        Polarity::DarkOnLight => DARK_ON_LIGHT,
        Polarity::LightOnDark => LIGHT_ON_DARK,
    };
    let figures = measures(&found).and_if("luminance_ratio", found.luminance_ratio).word("polarity", word);
    if !inputs.has("target_area_fraction") {
        return Ok(figures);
    }
    Ok(figures.and("rms", root_mean_square(target, ground, inputs.fraction("target_area_fraction")?)?))
}

fn surfaces(inputs: &Inputs<'_>) -> Found {
    let target = inputs.fraction("target_reflectance")?;
    Ok(measures(&contrasts_of_surfaces(target, inputs.fraction("background_reflectance")?)?))
}

fn to_weber(inputs: &Inputs<'_>) -> Found {
    let polarity =
        if inputs.text("polarity")? == DARK_ON_LIGHT { Polarity::DarkOnLight } else { Polarity::LightOnDark };
    let weber = weber_of_michelson(inputs.fraction("michelson")?, polarity)?;
    Ok(Figures::from([("weber_magnitude", weber.get())]))
}

fn projector(inputs: &Inputs<'_>) -> Result<Projector, Fault> {
    Ok(Projector { white: inputs.lux("projector_white_lux")?, black: inputs.lux("projector_black_lux")? })
}

fn projected(inputs: &Inputs<'_>) -> Found {
    let gain = inputs.ratio("screen_reflectance_or_gain")?;
    let left = projector(inputs)?.in_room(inputs.lux("ambient_on_screen_lux")?, gain)?;
    Ok(Figures::from([
        ("white_cd_m2", left.white.get()),
        ("black_cd_m2", left.black.get()),
        ("system_ratio", left.system_ratio),
        ("weber_dark_text", left.dark_text.get()),
        ("michelson", left.michelson.get()),
    ]))
}

fn most_ambient(inputs: &Inputs<'_>) -> Found {
    let most = projector(inputs)?.most_ambient(inputs.ratio("system_ratio")?)?;
    Ok(Figures::from([("max_ambient_lux", most.get())]))
}

fn most_ambient_for(inputs: &Inputs<'_>) -> Found {
    let most = projector(inputs)?.most_ambient_for(inputs.typed("weber_dark_text", Weber::new)?)?;
    Ok(Figures::from([("max_ambient_lux", most.get())]))
}

fn readings(inputs: &Inputs<'_>) -> Found {
    let read = ScreenReadings {
        white: inputs.lux("white_reading_lux")?,
        black: inputs.lux("black_reading_lux")?,
        off: inputs.lux("off_reading_lux")?,
    };
    let own = read.projector()?;
    let slide = inputs.typed("slide_weber", Weber::new)?;
    // A black slide in a dark room may give no light that a meter reads.
    let ratio = Some(read.white.get() / read.black.get()).filter(|ratio| ratio.is_finite());
    Ok(Figures::from([
        ("weber_writing", read.left_of(slide)?.get()),
        ("projector_white_lux", own.white.get()),
        ("projector_black_lux", own.black.get()),
    ])
    .and_if("system_ratio", ratio))
}

fn threshold(inputs: &Inputs<'_>) -> Found {
    let eye = inputs.typed("log_cs", LogContrastSensitivity::new)?;
    Ok(Figures::from([("threshold_weber", eye.threshold()?.get())]))
}

fn letters(inputs: &Inputs<'_>) -> Found {
    let read = LogContrastSensitivity::from_letters(
        inputs.count("letters_read")?,
        inputs.count("letters_in_full_contrast_row")?,
        inputs.number("log_per_letter")?,
    )?;
    Ok(Figures::from([("log_cs", read.get())]))
}

/// Red, green and blue of a screen colour.
fn colour(inputs: &Inputs<'_>, key: &'static str) -> Result<[u8; 3], Fault> {
    let byte = |channel: f64| count(channel).and_then(|whole| u8::try_from(whole).ok());
    let channels: Option<Vec<u8>> = inputs.numbers(key)?.into_iter().map(byte).collect();
    let colour = channels.and_then(|channels| channels.try_into().ok());
    colour.ok_or_else(|| Fault::at(key, "give three whole numbers from 0 to 255: red, green and blue"))
}

fn colours(inputs: &Inputs<'_>) -> Found {
    let pair = colour_pair(colour(inputs, "foreground_rgb8")?, colour(inputs, "background_rgb8")?)?;
    Ok(Figures::from([
        ("ratio", pair.ratio),
        ("relative_luminance_high", pair.lighter.get()),
        ("relative_luminance_low", pair.darker.get()),
    ])
    .and_if("michelson_no_flare", pair.michelson_no_flare.map(|michelson| michelson.get())))
}

fn ratio_to_weber(inputs: &Inputs<'_>) -> Found {
    let text = ratio_as_weber(inputs.ratio("ratio")?, inputs.fraction("background_relative_luminance")?)?;
    Ok(Figures::from([
        ("text_relative_luminance", text.text.get()),
        ("weber_no_flare", text.no_flare.get()),
        ("weber_with_5pct_flare", text.with_flare.get()),
    ]))
}

fn below(inputs: &Inputs<'_>) -> Found {
    let weber = below_full(inputs.number("log_units_below_full_contrast")?)?;
    Ok(Figures::from([("weber", weber.get())]))
}
