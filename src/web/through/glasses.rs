//! What glasses do with a device at the eye, in the reader's words.

use crate::care::through::Glasses;
use crate::vision::telescope::near::Reach;

pub(super) fn glasses(glasses: &Glasses) -> String {
    match glasses {
        Glasses::On => "The glasses stay on with it, so the tube has no lens to make up for.".to_owned(),
        Glasses::NotKnown => {
            "Whether glasses are worn with it is entered neither with the device nor at intake, so nothing is said of them."
                .to_owned()
        }
        Glasses::LensNotKnown => {
            "It is used without glasses. No refraction of that eye can be read here, so whether the tube makes up for it cannot be said."
                .to_owned()
        }
        Glasses::NoLensNeeded => {
            "It is used without glasses, and that eye needs less than 0.5 D: the tube has next to nothing to make up for."
                .to_owned()
        }
        Glasses::KeepOn(cylinder) => format!(
            "That eye has a cylinder of {:+.2} D. A tube does not correct cylinder: above 1.5 D keep the glasses on. How it is worn is for the clinician to say.",
            cylinder.get()
        ),
        Glasses::ByTube { sphere, reach } => format!(
            "Used without glasses, the tube has to make up for {:+.2} D besides the distance. {} Lenses are taken as thin.",
            sphere.get(),
            match reach {
                Reach::Reaches => "Going by the label it has the travel.",
                Reach::TooShort =>
                    "Going by the label it has not the travel: it would have to be longer than at its nearest focus.",
                Reach::NotKnown =>
                    "Whether it has the travel follows from lenses and stops that no label states: try it first.",
            }
        ),
    }
}

pub(super) fn plain_glasses(glasses: &Glasses) -> String {
    match glasses {
        Glasses::On => "The glasses stay on with it.",
        Glasses::NotKnown => "Whether glasses are worn with it is not entered. Ask the vision teacher.",
        Glasses::LensNotKnown | Glasses::NoLensNeeded => "It is used without glasses.",
        Glasses::KeepOn(_) => {
            "It is entered as used without glasses, and for these eyes it may not become sharp that way. Ask the clinician whether the glasses should stay on."
        }
        Glasses::ByTube { reach: Reach::Reaches, .. } => {
            "It is used without glasses, and by the numbers it can be made sharp for these eyes."
        }
        Glasses::ByTube { .. } => "It is used without glasses. Whether it can be made sharp for these eyes has to be tried.",
    }
    .to_owned()
}
