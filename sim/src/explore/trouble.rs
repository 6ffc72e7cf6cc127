//! The faults of the abstract world: what may be broken, one at a time or more.
//!
//! A broken sensor says anything at any step: each of the readings that a guard tells
//! apart, the true one, or nothing. That covers stuck, offset, drifting, noisy, silent,
//! intermittent, inverted and delayed alike. A broken actuator does its work or not, as
//! it likes. So each entry stands for a whole row of the fault catalogue.

use std::fmt;

use enumset::EnumSetType;

/// What is broken.
#[derive(EnumSetType, Debug, Default, Hash, PartialOrd, Ord)]
pub enum Trouble {
    /// Nothing.
    #[default]
    None,
    /// Mast position sensor.
    MastPosition,
    /// Mast end switch, stowed.
    StowedSwitch,
    /// Mast end switch, deployed.
    DeployedSwitch,
    /// Switch of the latch pin.
    LockSwitch,
    /// Current sensor of the mast drive.
    MastCurrent,
    /// Left door's switch.
    LeftOpen,
    /// Right door's switch.
    RightOpen,
    /// Switch of the shut doors.
    ShutSwitch,
    /// Current sensor of the door drive.
    DoorCurrent,
    /// Blade angle, source A.
    AngleA,
    /// Blade angle, source B.
    AngleB,
    /// Shaft speed.
    ShaftSpeed,
    /// Bus voltage sensor.
    BusVoltage,
    /// Bus current sensor.
    BusCurrent,
    /// Insulation monitor.
    InsulationMonitor,
    /// Auxiliary contact of the main contactor.
    MainFeedback,
    /// Voltage sensor of pack 1.
    Pack1Voltage,
    /// Voltage sensor of pack 2.
    Pack2Voltage,
    /// Throttle track A.
    ThrottleA,
    /// Throttle track B.
    ThrottleB,
    /// Selector contact, centre.
    SelectHold,
    /// Selector contact, deploy.
    SelectDeploy,
    /// Selector contact, stow.
    SelectStow,
    /// The selector stays between two positions, no contact closed, for longer than it is
    /// debounced: its snap action is worn, or a hand overcomes it.
    SelectorLingers,
    /// Stop contact A.
    StopA,
    /// Stop contact B.
    StopB,
    /// Contact of the bench key.
    BenchKey,
    /// Contact of the charge request.
    AuxContact,
    /// Airspeed sensor.
    Airspeed,
    /// The mast drive is dead, or jammed.
    MastStuck,
    /// The mast drive runs the wrong way.
    MastReversed,
    /// The spindle no longer holds the mast.
    SpindleFree,
    /// The door drive is dead, or jammed.
    DoorsStuck,
    /// The motor gives no torque.
    MotorDead,
    /// The motor draws current unasked.
    MotorDisobeys,
    /// Something turns the blade in the bay: a hand, a worn detent, a gust.
    BladeTurned,
    /// The main contactor's contacts stay together.
    MainWelded,
    /// The main contactor does not close.
    MainStuckOpen,
    /// The pre-charge path is open.
    PrechargeOpen,
    /// The discharge path is open.
    DischargeOpen,
    /// The packs feed nothing.
    PacksOff,
    /// Insulation is low, in truth.
    InsulationLow,
    /// Ticks come late.
    LateTicks,
    /// The controller's supply comes and goes.
    PowerCut,
}

/// A fault that no controller can bear, and why.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Accepted {
    /// The fault.
    pub trouble: Trouble,
    /// Why it is left out unless asked for.
    pub why: &'static str,
}

/// Faults left out unless asked for.
pub const ACCEPTED: &[Accepted] = &[Accepted {
    trouble: Trouble::BladeTurned,
    why: "in the bay the blade has only its detent, and the motor may give no torque there",
}];

impl Trouble {
    /// Every fault.
    pub const ALL: [Self; 44] = [
        Self::MastPosition,
        Self::StowedSwitch,
        Self::DeployedSwitch,
        Self::LockSwitch,
        Self::MastCurrent,
        Self::LeftOpen,
        Self::RightOpen,
        Self::ShutSwitch,
        Self::DoorCurrent,
        Self::AngleA,
        Self::AngleB,
        Self::ShaftSpeed,
        Self::BusVoltage,
        Self::BusCurrent,
        Self::InsulationMonitor,
        Self::MainFeedback,
        Self::Pack1Voltage,
        Self::Pack2Voltage,
        Self::ThrottleA,
        Self::ThrottleB,
        Self::SelectHold,
        Self::SelectDeploy,
        Self::SelectStow,
        Self::SelectorLingers,
        Self::StopA,
        Self::StopB,
        Self::BenchKey,
        Self::AuxContact,
        Self::Airspeed,
        Self::MastStuck,
        Self::MastReversed,
        Self::SpindleFree,
        Self::DoorsStuck,
        Self::MotorDead,
        Self::MotorDisobeys,
        Self::BladeTurned,
        Self::MainWelded,
        Self::MainStuckOpen,
        Self::PrechargeOpen,
        Self::DischargeOpen,
        Self::PacksOff,
        Self::InsulationLow,
        Self::LateTicks,
        Self::PowerCut,
    ];

    /// True when no controller can bear it.
    #[must_use]
    pub fn is_accepted(self) -> bool {
        ACCEPTED.iter().any(|accepted| accepted.trouble == self)
    }

    /// Every fault but those that no controller can bear.
    #[must_use]
    pub fn bearable() -> Vec<Self> {
        Self::ALL
            .into_iter()
            .filter(|trouble| !trouble.is_accepted())
            .collect()
    }

    /// Its name.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::None => "none",
            Self::MastPosition => "mast-position",
            Self::StowedSwitch => "stowed-switch",
            Self::DeployedSwitch => "deployed-switch",
            Self::LockSwitch => "lock-switch",
            Self::MastCurrent => "mast-current",
            Self::LeftOpen => "left-open-switch",
            Self::RightOpen => "right-open-switch",
            Self::ShutSwitch => "shut-switch",
            Self::DoorCurrent => "door-current",
            Self::AngleA => "angle-a",
            Self::AngleB => "angle-b",
            Self::ShaftSpeed => "shaft-speed",
            Self::BusVoltage => "bus-voltage",
            Self::BusCurrent => "bus-current",
            Self::InsulationMonitor => "insulation-monitor",
            Self::MainFeedback => "main-feedback",
            Self::Pack1Voltage => "pack1-voltage",
            Self::Pack2Voltage => "pack2-voltage",
            Self::ThrottleA => "throttle-a",
            Self::ThrottleB => "throttle-b",
            Self::SelectHold => "select-hold",
            Self::SelectDeploy => "select-deploy",
            Self::SelectStow => "select-stow",
            Self::SelectorLingers => "selector-lingers",
            Self::StopA => "stop-a",
            Self::StopB => "stop-b",
            Self::BenchKey => "bench-key",
            Self::AuxContact => "aux-contact",
            Self::Airspeed => "airspeed",
            Self::MastStuck => "mast-stuck",
            Self::MastReversed => "mast-reversed",
            Self::SpindleFree => "spindle-free",
            Self::DoorsStuck => "doors-stuck",
            Self::MotorDead => "motor-dead",
            Self::MotorDisobeys => "motor-disobeys",
            Self::BladeTurned => "blade-turned",
            Self::MainWelded => "main-welded",
            Self::MainStuckOpen => "main-stuck-open",
            Self::PrechargeOpen => "precharge-open",
            Self::DischargeOpen => "discharge-open",
            Self::PacksOff => "packs-off",
            Self::InsulationLow => "insulation-low",
            Self::LateTicks => "late-ticks",
            Self::PowerCut => "power-cut",
        }
    }

    /// Its number, from 0 for none.
    #[must_use]
    pub const fn number(self) -> u8 {
        self as u8
    }

    /// The fault of that number.
    #[must_use]
    pub fn numbered(number: u8) -> Self {
        usize::from(number)
            .checked_sub(1)
            .and_then(|index| Self::ALL.get(index))
            .copied()
            .unwrap_or_default()
    }
}

/// What is broken, at most two things; nothing is [`Trouble::None`].
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Troubles([Trouble; 2]);

impl Troubles {
    /// These two, in their order.
    #[must_use]
    pub fn of(one: Trouble, other: Trouble) -> Self {
        let mut both = [one, other];
        both.sort_unstable();
        both.reverse();
        Self(both)
    }

    /// Both places, what is broken first.
    #[must_use]
    pub const fn both(self) -> [Trouble; 2] {
        self.0
    }

    /// True when this is broken.
    #[must_use]
    pub fn has(self, trouble: Trouble) -> bool {
        self.0.contains(&trouble)
    }

    /// True when anything is broken.
    #[must_use]
    pub fn any(self) -> bool {
        self.0 != [Trouble::None; 2]
    }

    /// How many things are broken.
    #[must_use]
    pub fn count(self) -> usize {
        self.0.iter().filter(|&&t| t != Trouble::None).count()
    }

    /// The same with one more broken.
    #[must_use]
    pub fn with(self, trouble: Trouble) -> Self {
        Self::of(self.0[0], trouble)
    }
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}
