//! The table of limits: every setting with its unit, default, range and source.
//!
//! Unless a source is named, a default is a choice of this design for its invented
//! demonstration aircraft; a real installation sets its own. A rule of road vehicles or
//! of a competition is an analogy here, not a requirement that applies.

use crate::signal::Age;
use crate::units::{
    CentiDegrees, DeciCelsius, DeciMetresPerSecond, KiloOhms, Milliamps, Millis, Millivolts,
    Permille, Rpm, TICK_MS,
};

/// A number with a unit, as the table of limits sees it.
trait Quantity: Copy {
    fn number(self) -> i32;

    /// The quantity of this number, if there is one.
    #[cfg(test)]
    fn of(number: i32) -> Option<Self>;
}

macro_rules! quantities {
    ($($name:ident),+) => {
        $(impl Quantity for $name {
            fn number(self) -> i32 {
                i32::from(self.get())
            }

            #[cfg(test)]
            fn of(number: i32) -> Option<Self> {
                number.try_into().ok().map(Self::new)
            }
        })+
    };
}
quantities!(
    CentiDegrees,
    DeciCelsius,
    DeciMetresPerSecond,
    KiloOhms,
    Milliamps,
    Millis,
    Millivolts,
    Permille,
    Rpm
);

impl Quantity for Age {
    fn number(self) -> i32 {
        i32::from(self.ticks())
    }

    #[cfg(test)]
    fn of(number: i32) -> Option<Self> {
        number.try_into().ok().map(Self::new)
    }
}

/// One row of the table of limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Field {
    /// The setting's name.
    pub name: &'static str,
    /// What it limits.
    pub meaning: &'static str,
    /// Unit of the three numbers that follow.
    pub unit: &'static str,
    /// Value used unless another is given.
    pub default: i32,
    /// Smallest value accepted.
    pub min: i32,
    /// Largest value accepted.
    pub max: i32,
}

impl Field {
    /// What values are multiples of: a tick, if they are times.
    #[must_use]
    pub fn step(&self) -> i32 {
        if self.unit == Millis::SYMBOL {
            i32::from(TICK_MS)
        } else {
            1
        }
    }
}

macro_rules! settings {
    ($($(#[doc = $doc:literal])+ $name:ident: $unit:ident = $default:literal, $min:literal ..= $max:literal, $symbol:expr;)+) => {
        /// Limits as given, not yet validated.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        #[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
        #[cfg_attr(feature = "serde", serde(default, deny_unknown_fields))]
        pub struct Settings {
            $($(#[doc = $doc])+ pub $name: $unit,)+
        }

        impl Default for Settings {
            fn default() -> Self {
                Self { $($name: $unit::new($default),)+ }
            }
        }

        impl Settings {
            /// The table of limits, in order.
            pub const FIELDS: &'static [Field] = &[
                $(Field {
                    name: stringify!($name),
                    meaning: concat!($($doc),+),
                    unit: $symbol,
                    default: $default,
                    min: $min,
                    max: $max,
                },)+
            ];

            pub(super) fn numbers(&self) -> impl Iterator<Item = i32> {
                [$(self.$name.number()),+].into_iter()
            }

            /// The same settings with one of them given by name, if its unit can say it.
            #[cfg(test)]
            pub(super) fn with(mut self, name: &str, number: i32) -> Option<Self> {
                match name {
                    $(stringify!($name) => self.$name = Quantity::of(number)?,)+
                    _ => return None,
                }
                Some(self)
            }
        }
    };
}

settings! {
    /// A sample older than this proves nothing.
    stale_after: Age = 10, 1..=50, "ticks";
    /// A control must read the same for this long. Source: 10 to 20 ms windows are in use, documentation of debounce libraries, read.
    debounce: Millis = 20, 0..=100, Millis::SYMBOL;
    /// A contradiction or a lost reading latches a fault after this long.
    fault_after: Millis = 100, 10..=500, Millis::SYMBOL;
    /// Holding acknowledge this long clears faults whose cause is gone.
    clear_hold: Millis = 2000, 500..=10000, Millis::SYMBOL;

    /// The throttle tracks agree within this.
    throttle_agree: Permille = 60, 10..=200, Permille::SYMBOL;
    /// At or below this the throttle is at zero.
    throttle_zero: Permille = 30, 5..=100, Permille::SYMBOL;

    /// After power-up the controller listens this long before it takes any intention.
    wake_time: Millis = 500, 100..=5000, Millis::SYMBOL;
    /// Making the bus live takes at most this long.
    power_time: Millis = 8000, 2000..=20000, Millis::SYMBOL;
    /// A mast move takes at most this long, waiting for permissions included.
    mast_stage_time: Millis = 22000, 5000..=60000, Millis::SYMBOL;
    /// A door move takes at most this long, waiting for permissions included.
    door_stage_time: Millis = 8000, 2000..=20000, Millis::SYMBOL;
    /// Jog ends after the selector has been left alone this long.
    jog_idle: Millis = 3000, 1000..=30000, Millis::SYMBOL;
    /// A confirmation of restraint lapses after this long.
    restraint_time: Millis = 60000, 10000..=65000, Millis::SYMBOL;

    /// At or below this position the mast can be proven stowed.
    mast_stowed_max: Permille = 15, 5..=50, Permille::SYMBOL;
    /// At or above this position the blade clears the bay, margin included.
    mast_clear_min: Permille = 650, 300..=950, Permille::SYMBOL;
    /// At or above this position the mast can be proven deployed.
    mast_deployed_min: Permille = 985, 950..=995, Permille::SYMBOL;
    /// An end switch and the position sensor may differ by this before they contradict.
    mast_switch_margin: Permille = 25, 5..=100, Permille::SYMBOL;
    /// The lock must show for this long, the drive still on, before the mast counts as locked at the end of a deployment.
    lock_proof: Millis = 150, 50..=200, Millis::SYMBOL;
    /// Rest between opposite drives of the mast or of the doors.
    dead_time: Millis = 300, 50..=2000, Millis::SYMBOL;
    /// The mast drive runs at most this long at full pace.
    mast_time: Millis = 16000, 4000..=40000, Millis::SYMBOL;
    /// The mast drive runs at most this long at slow pace.
    mast_time_slow: Millis = 60000, 10000..=65000, Millis::SYMBOL;
    /// The mast drive may draw this much.
    mast_overload: Milliamps = 30000, 5000..=100000, Milliamps::SYMBOL;
    /// The door drive may draw this much.
    door_overload: Milliamps = 15000, 2000..=50000, Milliamps::SYMBOL;
    /// A drive may exceed its current limit for this long (starting current).
    overload_after: Millis = 250, 50..=1000, Millis::SYMBOL;
    /// Mast motion is judged over windows of this length, four times as long at slow pace.
    mast_follow_window: Millis = 600, 200..=2000, Millis::SYMBOL;
    /// A driven mast moves at least this far in one window.
    mast_follow_min: Permille = 6, 2..=50, Permille::SYMBOL;
    /// A resting mast moves at most this far in one window.
    mast_rest_max: Permille = 12, 5..=50, Permille::SYMBOL;
    /// The door drive presses on its end stop for this long before doors that have moved count as shut.
    door_press: Millis = 50, 20..=200, Millis::SYMBOL;
    /// Doors that are told to be shut are pressed within this long, or something lies.
    door_press_time: Millis = 400, 200..=1000, Millis::SYMBOL;
    /// Doors come to rest within this long after their drive is switched off.
    door_settle: Millis = 600, 100..=2000, Millis::SYMBOL;
    /// The door drive runs at most this long.
    door_time: Millis = 6000, 1000..=20000, Millis::SYMBOL;

    /// The blade is parked within this of its park angle.
    park_window: CentiDegrees = 400, 50..=800, CentiDegrees::SYMBOL;
    /// Holding can take hold within this of the park angle.
    hold_capture: CentiDegrees = 900, 100..=2000, CentiDegrees::SYMBOL;
    /// The two blade angle sources agree within this.
    blade_agree: CentiDegrees = 300, 50..=1000, CentiDegrees::SYMBOL;
    /// A shaft no faster than this stands still.
    shaft_still: Rpm = 3, 1..=10, Rpm::SYMBOL;
    /// Parking begins at or below this shaft speed.
    shaft_slow: Rpm = 45, 10..=120, Rpm::SYMBOL;
    /// Speed at which the blade is turned to its park angle.
    creep_speed: Rpm = 15, 4..=40, Rpm::SYMBOL;
    /// Everything must prove the blade parked for this long.
    park_proof: Millis = 300, 100..=3000, Millis::SYMBOL;
    /// With the hold let go, the blade must stay parked by itself for this long before the mast is lowered.
    stand_proof: Millis = 1000, 300..=5000, Millis::SYMBOL;
    /// Slowing the propeller takes at most this long.
    brake_time: Millis = 10000, 2000..=30000, Millis::SYMBOL;
    /// Parking takes at most this long.
    park_time: Millis = 10000, 2000..=30000, Millis::SYMBOL;
    /// Share of the brake limit used to slow the propeller.
    brake_strength: Permille = 600, 100..=1000, Permille::SYMBOL;
    /// Share of the hold limit used to hold the blade.
    hold_strength: Permille = 1000, 300..=1000, Permille::SYMBOL;
    /// A motor not asked for torque draws no more than this from the bus.
    motor_idle_current: Milliamps = 15000, 2000..=50000, Milliamps::SYMBOL;

    /// Above this the bus is high voltage. Source: 49 CFR 571.305 S3, 60 V DC, quoted by a third party (road vehicles, analogy).
    high_voltage: Millivolts = 60000, 20000..=60000, Millivolts::SYMBOL;
    /// Least insulation resistance. Source: UN R100 5.1.3, 500 ohm/V where AC is joined in, at 400 V, quoted by a third party (road vehicles, analogy).
    insulation_min: KiloOhms = 200, 40..=2000, KiloOhms::SYMBOL;
    /// Insulation and a dead bus must be proven this long before pre-charge.
    insulation_time: Millis = 200, 50..=2000, Millis::SYMBOL;
    /// Share of pack voltage the bus must reach. Source: at least 90 %, Formula SAE rules 2014 EV4.12.1, quoted by a third party (analogy); 95 % chosen.
    precharge_share: Permille = 950, 900..=990, Permille::SYMBOL;
    /// Pre-charge current must have faded below this.
    inrush_max: Milliamps = 700, 200..=1000, Milliamps::SYMBOL;
    /// Pre-charge takes at most this long.
    precharge_time: Millis = 1500, 300..=5000, Millis::SYMBOL;
    /// The bus is never taken for live before the main contactor was commanded this long, pre-charge on: an auxiliary contact that lies would end pre-charge before the contacts touch. A slower contactor whose contact lies as well is two failures. Source: 15 to 30 ms are common for contactors of this size (common practice, no source); doubled.
    main_close_min: Millis = 60, 20..=400, Millis::SYMBOL;
    /// The main contactor shows that it has closed within this long.
    main_close_time: Millis = 150, 50..=500, Millis::SYMBOL;
    /// Contactors open once the current is below `open_current`, or after this long.
    open_time: Millis = 300, 50..=1000, Millis::SYMBOL;
    /// Current below which contactors open without arcing.
    open_current: Milliamps = 5000, 500..=20000, Milliamps::SYMBOL;
    /// The bus falls below `high_voltage` within this long after opening. Source: 5 s in use in road-vehicle practice, from memory; 3 s chosen.
    discharge_time: Millis = 3000, 500..=5000, Millis::SYMBOL;
    /// A bus is never taken for dead before it was drained this long: a voltage sensor that fails low would hide a live one. Source: 1.9 time constants from 400 V to 60 V, 500 ohm and 1 mF of the demonstration aircraft, computed.
    drain_min: Millis = 1200, 200..=3000, Millis::SYMBOL;
    /// Least bus voltage in use.
    bus_min: Millivolts = 280000, 200000..=380000, Millivolts::SYMBOL;
    /// Greatest bus voltage in use.
    bus_max: Millivolts = 470000, 420000..=600000, Millivolts::SYMBOL;

    /// Least voltage of a usable pack.
    pack_min: Millivolts = 290000, 200000..=380000, Millivolts::SYMBOL;
    /// Greatest voltage of a usable pack.
    pack_max: Millivolts = 465000, 420000..=600000, Millivolts::SYMBOL;
    /// Packs may differ by this when they are joined.
    pack_unbalance: Millivolts = 6000, 1000..=20000, Millivolts::SYMBOL;
    /// At or below this charge a pack is empty.
    charge_empty: Permille = 20, 0..=200, Permille::SYMBOL;
    /// Below this charge the reserve is reached.
    charge_reserve: Permille = 150, 50..=500, Permille::SYMBOL;
    /// Share of rated thrust one pack alone can feed.
    one_pack_limit: Permille = 500, 100..=1000, Permille::SYMBOL;
    /// Below this the auxiliary battery is low.
    aux_low: Millivolts = 11500, 9000..=12500, Millivolts::SYMBOL;
    /// Auxiliary charging starts at or below this.
    aux_resume: Millivolts = 13200, 11000..=13800, Millivolts::SYMBOL;
    /// Auxiliary charging ends at or above this.
    aux_full: Millivolts = 14200, 13500..=15500, Millivolts::SYMBOL;

    /// Fans start at this controller temperature. Source: common practice, no source.
    fans_on: DeciCelsius = 400, 200..=700, DeciCelsius::SYMBOL;
    /// Fans stop at or below this controller temperature.
    fans_off: DeciCelsius = 350, 100..=600, DeciCelsius::SYMBOL;
    /// Fans turn within this long after they are switched on.
    fans_spin_up: Millis = 2000, 500..=10000, Millis::SYMBOL;
    /// Motor: alert.
    motor_hot: DeciCelsius = 1100, 500..=1600, DeciCelsius::SYMBOL;
    /// Motor: thrust begins to fall.
    motor_derate: DeciCelsius = 1150, 500..=1700, DeciCelsius::SYMBOL;
    /// Motor: thrust ends.
    motor_stop: DeciCelsius = 1300, 600..=1800, DeciCelsius::SYMBOL;
    /// Motor controller: alert.
    controller_hot: DeciCelsius = 750, 400..=1100, DeciCelsius::SYMBOL;
    /// Motor controller: thrust begins to fall.
    controller_derate: DeciCelsius = 780, 400..=1200, DeciCelsius::SYMBOL;
    /// Motor controller: thrust ends.
    controller_stop: DeciCelsius = 950, 500..=1300, DeciCelsius::SYMBOL;
    /// Pack: alert.
    pack_hot: DeciCelsius = 500, 300..=650, DeciCelsius::SYMBOL;
    /// Pack: thrust begins to fall.
    pack_derate: DeciCelsius = 520, 300..=700, DeciCelsius::SYMBOL;
    /// Pack: thrust ends.
    pack_stop: DeciCelsius = 600, 400..=750, DeciCelsius::SYMBOL;
    /// Controller heating is judged over windows of this length.
    heating_window: Millis = 5000, 1000..=20000, Millis::SYMBOL;
    /// With working fans the controller heats by less than this in one window.
    heating_max: DeciCelsius = 40, 10..=200, DeciCelsius::SYMBOL;
    /// Share of rated thrust while a temperature is unknown.
    unknown_temperature_limit: Permille = 500, 0..=1000, Permille::SYMBOL;

    /// Greatest airspeed at which mast and doors move. Source of the notion: Transport Canada Airworthiness Manual 522.1513, read; the figure is invented.
    mast_airspeed_max: DeciMetresPerSecond = 300, 100..=600, DeciMetresPerSecond::SYMBOL;
    /// Once above it, airspeed must fall this far below it before mast and doors move again.
    mast_airspeed_band: DeciMetresPerSecond = 15, 5..=50, DeciMetresPerSecond::SYMBOL;
    /// Greatest airspeed with the mast out (V_PE). Source of the notion: Transport Canada Airworthiness Manual 522.1514, read; the figure is invented.
    deployed_airspeed_max: DeciMetresPerSecond = 420, 100..=700, DeciMetresPerSecond::SYMBOL;
    /// Bench is entered only below this airspeed.
    bench_airspeed_max: DeciMetresPerSecond = 40, 0..=100, DeciMetresPerSecond::SYMBOL;
}
