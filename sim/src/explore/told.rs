//! What the checks look at of what the controller was told in a step.

use mastwright_core::Inputs;

/// What the checks look at of what the controller was told.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Told {
    /// Position and switches of the mast are heard.
    pub mast: bool,
    /// The open switches of the doors are heard.
    pub doors: bool,
    /// Both angles of the blade, and the speed of the shaft, are heard.
    pub blade: bool,
    /// Both tracks of the throttle are heard.
    pub throttle: bool,
    /// Both end switches of the mast show, or one of them against its position.
    pub contradicts: bool,
    /// The tick is late.
    pub late: bool,
}

impl Told {
    /// What these readings tell.
    #[must_use]
    pub fn of(inputs: &Inputs) -> Self {
        let Inputs {
            mast,
            doors,
            propeller: blade,
            controls,
            ..
        } = inputs;
        let position = mast.position.raw().get();
        let (stowed, deployed) = (mast.stowed_switch.raw(), mast.deployed_switch.raw());
        let against = mast.position.is_valid()
            && ((stowed && position > 200) || (deployed && position < 900));
        Self {
            mast: mast.position.is_valid()
                && mast.stowed_switch.is_valid()
                && mast.deployed_switch.is_valid()
                && mast.lock_switch.is_valid(),
            doors: doors.left_open.is_valid() && doors.right_open.is_valid(),
            blade: blade.angle_a.is_valid() && blade.angle_b.is_valid() && blade.speed.is_valid(),
            throttle: controls.throttle_a.is_valid() && controls.throttle_b.is_valid(),
            contradicts: (stowed && deployed) || against,
            late: inputs.missed_deadline,
        }
    }
}
