//! The scenes in which saboteurs show: scenarios of this crate alone, each as short as
//! it can be.

use mastwright_sim::scenario::Scenario;

/// A scenario with its name.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Scene {
    /// Its name.
    pub name: &'static str,
    /// Its text.
    pub text: &'static str,
}

macro_rules! scenes {
    ($($name:ident = $file:literal;)+) => {
        $(pub(super) const $name: Scene = Scene {
            name: $file,
            text: include_str!(concat!("scenes/", $file, ".toml")),
        };)+
    };
}

scenes! {
    ALERT = "alert";
    ANGLE_WRONG = "angle-wrong";
    BAY_HEAT = "bay-heat";
    BENCH = "bench";
    BROWN_OUT = "brown-out";
    CHARGING_FLIGHT = "charging-flight";
    CHARGING = "charging";
    CONTRADICTION = "contradiction";
    DOOR_JAM = "door-jam";
    EMERGENCY = "emergency";
    FANS = "fans";
    FAST_AIR = "fast-air";
    FLIGHT = "flight";
    HEAT_TEST = "heat-test";
    HOT = "hot";
    INSULATION = "insulation";
    LATE = "late";
    LOCK_LOST = "lock-lost";
    MAST_JAM = "mast-jam";
    NOT_PARKED = "not-parked";
    OPPOSING = "opposing";
    SLOW_MAST = "slow-mast";
    STALE = "stale";
    STALE_LOCK = "stale-lock";
    STOW_UNDER_THRUST = "stow-under-thrust";
    THROTTLE_OPEN = "throttle-open";
    TOO_HOT = "too-hot";
    TRACKS = "tracks";
    WAY_OUT = "way-out";
    WELD = "weld";
}

impl Scene {
    /// Its scenario.
    ///
    /// # Errors
    /// What is wrong with its text.
    pub fn read(&self) -> Result<Scenario, String> {
        Scenario::parse(self.name, self.text).map_err(|problem| problem.to_string())
    }
}
