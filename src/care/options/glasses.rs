//! What becomes of a telescope where the glasses come off?
//!
//! The tube takes up the sphere that the eye is left without, as far as it can
//! be drawn out or pushed in; no tube takes up cylinder. Does not know where
//! the student sits: that is asked of [`TubeAt::reach`].

use crate::care::device::DeviceSpec;
use crate::care::sight::{AtHand, InClass, Sight, Used};
use crate::care::track::{Eye, WithGlasses};
use crate::vision::refraction::Lens;
use crate::vision::telescope::near::{Reach, reach};
use crate::vision::units::{Dioptres, Magnification, Metres};

/// Cylinder above this is not focused out by a tube. Common practice.
const TOO_MUCH_CYLINDER: f64 = 1.5;
/// A sphere that a tube would have to focus out. Our own proposal.
const SPHERE_TO_FOCUS: f64 = 0.5;

/// Whether the glasses come off for this device; nothing where nobody entered it.
pub(in crate::care) fn come_off(spec: &DeviceSpec, sight: &Sight) -> Option<bool> {
    match (spec.with_glasses, sight.in_class) {
        (Some(WithGlasses::Without), _) => Some(true),
        (Some(WithGlasses::Over), _) => Some(false),
        (Some(WithGlasses::Either) | None, InClass::Without) => Some(true),
        (Some(WithGlasses::Either) | None, InClass::Wears) => Some(false),
        (Some(WithGlasses::Either) | None, InClass::NotKnown) => None,
    }
}

/// The lens that the eye behind this device is left without; none where glasses
/// stay on, or where its refraction was not found.
pub(super) fn without(sight: &Sight, device: &AtHand, used: &Used) -> Option<Lens> {
    let bare = come_off(&device.spec, sight) == Some(true);
    let eye = device.spec.eye.filter(|eye| matches!(eye, Eye::Right | Eye::Left)).unwrap_or(used.eye);
    sight.lens_of(eye).filter(|_| bare)
}

/// Whether this much cylinder keeps the glasses on.
pub(in crate::care) fn too_much_cylinder(lens: Lens) -> bool {
    lens.cylinder.get().abs() > TOO_MUCH_CYLINDER
}

/// A tube that has to take up the sphere of an eye without its glasses.
#[derive(Debug, Clone, Copy)]
pub(in crate::care) struct TubeAt {
    power: Magnification,
    nearest: Option<Metres>,
    sphere: Dioptres,
}

impl TubeAt {
    /// None where there is next to nothing to take up, or no power is stated.
    pub(in crate::care) fn of(device: &AtHand, lens: Lens) -> Option<Self> {
        let sphere = lens.spherical_equivalent().ok().filter(|mean| mean.get().abs() >= SPHERE_TO_FOCUS)?;
        Some(Self { power: device.spec.power?, nearest: device.spec.near_focus, sphere })
    }

    /// Whether it can be focused at this distance; not known where a part is
    /// not stated or lies outside the formula.
    pub(in crate::care) fn reach(self, distance: Metres) -> Reach {
        self.nearest
            .and_then(|nearest| reach(self.power, nearest, distance, self.sphere).ok())
            .unwrap_or(Reach::NotKnown)
    }
}
