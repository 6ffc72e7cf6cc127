//! Saboteurs of heat and its warnings: SR-10, SR-22, HZ-5.

use mastwright_core::heat_warning::{HeatLimits, HeatSettings};
use mastwright_core::outputs::Motor;
use mastwright_core::signal::Signal;
use mastwright_core::units::{DeciCelsius, Permille};
use mastwright_core::{Fault, Inputs, Outputs, State};
use mastwright_sim::frame::Frame;

use super::{Saboteur, Tamper, hide, scenes};

pub(super) const TABLE: &[Saboteur] = &[
    Saboteur::flown::<FeelsCold>(
        "feels-cold",
        "SR-10",
        "reads 20 degrees everywhere and fans that turn",
        &scenes::HOT,
    ),
    Saboteur::flown::<FeelsCold>(
        "feels-cold",
        "HZ-5",
        "reads 20 degrees everywhere and fans that turn",
        &scenes::HOT,
    ),
    Saboteur::flown::<NeverDerates>(
        "never-derates",
        "SR-10",
        "alerts, and gives full thrust all the same",
        &scenes::HOT,
    ),
    Saboteur::flown::<NeverStops>(
        "never-stops",
        "SR-10",
        "alerts, and gives half thrust however hot it is",
        &scenes::TOO_HOT,
    ),
    Saboteur::flown::<HidesFans>(
        "hides-fans",
        "SR-10",
        "says nothing of fans that stand still, nor of the heat they let rise",
        &scenes::FANS,
    ),
    Saboteur::flown::<DeafToHeat>(
        "deaf-to-heat",
        "SR-22",
        "has a heat warning set to warn at 300 degrees",
        &scenes::BAY_HEAT,
    ),
    Saboteur::flown::<DiesWithPower>(
        "dies-with-power",
        "SR-22",
        "has its heat warning on the controller's own supply",
        &scenes::HEAT_TEST,
    ),
];

/// Reads cold parts and working fans, always.
#[derive(Clone, Default)]
struct FeelsCold;

impl Tamper for FeelsCold {
    fn mislead(&mut self, inputs: &mut Inputs) {
        let cold = Signal::fresh(DeciCelsius::new(200));
        inputs.thermal.motor = cold;
        inputs.thermal.controller = cold;
        inputs.thermal.fans_turning = Signal::fresh(true);
        for pack in &mut inputs.packs {
            pack.temperature = cold;
        }
    }
}

/// Gives full thrust whenever it gives any.
#[derive(Clone, Default)]
struct NeverDerates;

impl Tamper for NeverDerates {
    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        if matches!(outputs.drives.motor, Motor::Thrust(_)) {
            outputs.drives.motor = Motor::Thrust(Permille::FULL);
        }
    }
}

/// Gives half thrust where it should give none.
#[derive(Clone, Default)]
struct NeverStops;

impl Tamper for NeverStops {
    fn overrule(&mut self, told: &Inputs, outputs: &mut Outputs) {
        let denied = outputs.indications.state == State::Deployed;
        let asked = told.controls.throttle_a.raw() > Permille::new(50);
        if denied && asked && outputs.drives.bus.main {
            outputs.drives.motor = Motor::Thrust(Permille::new(500));
            outputs.drives.motor_enable = true;
        }
    }
}

/// Leaves every alert of the cooling unsaid.
#[derive(Clone, Default)]
struct HidesFans;

impl Tamper for HidesFans {
    fn overrule(&mut self, _told: &Inputs, outputs: &mut Outputs) {
        hide(outputs, Fault::FansFailed | Fault::HeatingTooFast);
    }
}

/// Warns of heat only where everything has long burnt.
#[derive(Clone, Default)]
struct DeafToHeat;

impl Tamper for DeafToHeat {
    fn heat_limits() -> HeatLimits {
        let hot = DeciCelsius::new(3_000);
        HeatLimits::new(HeatSettings {
            hot,
            test_answer: hot,
            ..HeatSettings::default()
        })
        .expect("even a saboteur's limits are within range")
    }
}

/// Falls silent with the controller.
#[derive(Clone, Default)]
struct DiesWithPower;

impl Tamper for DiesWithPower {
    fn rewire(frame: &mut Frame) {
        frame.heat_warning &= frame.powered;
    }
}
