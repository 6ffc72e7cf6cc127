//! The physical limits the oracle judges by.
//!
//! They belong to the invented demonstration aircraft and to physics, not to the
//! controller: a controller given worse settings is judged by the same limits. Where
//! the two describe one thing, the oracle's limit lies outside the controller's by
//! what sensors may be off, so that only a real breach is one.

use std::f64::consts::PI;

/// Ticks of 10 ms in one second.
pub const SECOND: u32 = 100;

/// The reaction allowed to the controller, ticks: 150 ms. A sample may prove something
/// until it is 100 ms old; sampling, filtering and one tick of computing take the rest.
/// Below the 300 ms the spindle holds an unlatched mast under thrust (a choice of this
/// design), so detection plus reaction stays under the fault tolerant time interval
/// (notion: ISO 26262-1:2018 3.55-3.61, an analogy, quoted by a third party).
pub const REACTION: u32 = 15;

/// After its supply returns a controller listens before it declares anything, ticks: 1 s.
pub const AWAKE: u32 = SECOND;

/// Limits of one heated part, deg C.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Heat {
    /// An alert stands before the part is hotter than this.
    pub alert: f64,
    /// Thrust has ended before the part is hotter than this.
    pub stop: f64,
    /// Above this the part is damaged.
    pub damage: f64,
}

/// The physical limits the oracle judges by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Below this mast travel (0 to 1) the blade is between the walls of the bay.
    pub clearance_position: f64,
    /// Half width of the sector about the park angle in which the blade passes the
    /// walls, rad. The figure belongs to the invented bay; the notion of a clearance to
    /// keep is that of CS 22.925 (25 mm radial).
    pub clearance_sector: f64,
    /// A shaft no faster than this stands still, rad/s (about 5 rpm).
    pub shaft_still: f64,
    /// Motor torque above this propels, N m.
    pub propulsive_torque: f64,
    /// Above this shaft speed motor torque propels, rad/s (about 60 rpm); below it the
    /// blade is only turned or held and gives no thrust worth the name.
    pub propulsive_speed: f64,
    /// Motor torque that does not merely brake moves a hand, N m.
    pub hand_torque: f64,
    /// Door opening (0 to 1) that lets the mast pass.
    pub doors_open: f64,
    /// At or below this opening the doors are shut.
    pub doors_shut: f64,
    /// Doors faster than this move, 1/s.
    pub doors_moving: f64,
    /// Greatest airspeed at which mast or doors are moved, m/s: 30 m/s and what the
    /// airspeed sensor may be off. The notion is that of Transport Canada Airworthiness
    /// Manual 522.1513 (read); the figure is invented.
    pub moving_airspeed: f64,
    /// At or below this travel the mast is stowed, out of the doors' sweep.
    pub mast_stowed: f64,
    /// A mast faster than this moves, 1/s.
    pub mast_moving: f64,
    /// The mast never moves faster than this near a person, 1/s: a quarter of its rated
    /// speed of about 1/10 s, and as much again for a mast that sinks.
    pub mast_slow: f64,
    /// Current above which the mast drive is stalled, A.
    pub mast_stall: f64,
    /// Current above which the door drive is stalled, A.
    pub door_stall: f64,
    /// Surge the bus capacitor and the main contactor stand, A: what a bus at 90 %
    /// lets through 0.18 ohm of packs and wiring at 430 V, rounded up.
    pub inrush: f64,
    /// Least insulation resistance, ohm: 500 ohm/V of a 400 V bus, the stricter figure of
    /// UN R100 5.1.3, that for AC (road vehicles, an analogy, quoted by a third party),
    /// less 10 % of measuring error.
    pub insulation: f64,
    /// Share of source voltage the bus must reach before the main contactor closes.
    /// At least 90 %: Formula SAE rules 2014 EV4.12.1 (an analogy, quoted by a third
    /// party).
    pub precharge_share: f64,
    /// Above this the bus is high voltage, V: 60 V DC, 49 CFR 571.305 S3 (road
    /// vehicles, an analogy, quoted by a third party), and 2 V of measuring error.
    pub high_voltage: f64,
    /// Below this the bus feeds no charger, V.
    pub bus_live: f64,
    /// Motor windings.
    pub motor: Heat,
    /// Heat sink of the motor controller.
    pub controller: Heat,
    /// Hottest cell of a pack.
    pub pack: Heat,
    /// Rise of the heat sink in 10 s that no working cooling explains, K.
    pub heating: f64,
    /// Bay temperature that is a fire or becomes one, deg C: the detectors' 90 and 5 for
    /// their lag.
    pub bay_heat: f64,
    /// A throttle at or below this is at zero (0 to 1): the controller's 3 % and the
    /// error of a track.
    pub throttle_zero: f64,
    /// A stop-and-stow has ended within this many ticks: 60 s. Long enough for every
    /// stage to use its whole limit, short against the height a circuit needs.
    pub emergency: u32,
}

impl Default for Limits {
    fn default() -> Self {
        Self {
            clearance_position: 0.60,
            clearance_sector: 10.0 * PI / 180.0,
            shaft_still: 0.5,
            propulsive_torque: 5.0,
            propulsive_speed: 6.3,
            hand_torque: 2.0,
            doors_open: 0.97,
            moving_airspeed: 31.0,
            doors_shut: 0.04,
            doors_moving: 0.01,
            mast_stowed: 0.03,
            mast_moving: 0.005,
            mast_slow: 0.05,
            mast_stall: 33.0,
            door_stall: 17.0,
            inrush: 250.0,
            insulation: 180e3,
            precharge_share: 0.90,
            high_voltage: 62.0,
            bus_live: 250.0,
            motor: Heat {
                alert: 115.0,
                stop: 135.0,
                damage: 150.0,
            },
            controller: Heat {
                alert: 80.0,
                stop: 100.0,
                damage: 110.0,
            },
            pack: Heat {
                alert: 53.0,
                stop: 62.0,
                damage: 65.0,
            },
            heating: 15.0,
            bay_heat: 95.0,
            throttle_zero: 0.05,
            emergency: 60 * SECOND,
        }
    }
}
