//! The motor and its controller: a permanent-magnet synchronous machine.
//!
//! Source: E = Kt w and torque = Kt i (60/(2 pi Kv)); phase-short braking torque of a
//! machine with resistance R, inductance L and p pole pairs,
//! Kt² R w / (R² + (p w L)²) (textbook, from memory). Quantities are direct-current
//! equivalents. The figures are invented.
//!
//! The loops for creeping and holding see the rotor angle the controller is told, so a
//! false angle source misleads them. Commutation itself is taken to survive it.

use mastwright_core::outputs::Motor as Command;
use serde::{Deserialize, Serialize};

use super::propeller::off_park;

/// The motor and its controller.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct MotorSetup {
    /// Torque constant, N m/A; also V s/rad.
    pub torque_constant: f64,
    /// Winding resistance, ohm.
    pub resistance: f64,
    /// Winding inductance, H.
    pub inductance: f64,
    /// Pole pairs.
    pub pole_pairs: f64,
    /// Torque at a thrust command of 1000 permille, N m.
    pub rated_torque: f64,
    /// Torque at a brake command of 1000 permille, N m.
    pub brake_torque: f64,
    /// Torque at most while creeping, N m.
    pub creep_torque: f64,
    /// Creeping torque for each rad/s of speed error, N m s/rad.
    pub creep_gain: f64,
    /// Torque at most while holding at 1000 permille, N m.
    pub hold_torque: f64,
    /// Holding torque for each rad off park, N m/rad.
    pub hold_stiffness: f64,
    /// Holding torque for each rad/s, N m s/rad.
    pub hold_damping: f64,
    /// Current at most, A.
    pub current_max: f64,
    /// Share of the bus voltage the controller can put across the motor.
    pub modulation: f64,
    /// Bus voltage below which the controller gives no torque, V.
    pub bus_min: f64,
    /// Bus voltage at which regeneration has faded to nothing, V.
    pub bus_max: f64,
    /// Controller loss while enabled, W.
    pub loss_base: f64,
    /// Controller loss for each ampere, switching and conduction, W/A.
    pub loss_current: f64,
    /// Iron loss at rated speed, W.
    pub iron_loss: f64,
    /// Rated speed, rad/s.
    pub rated_speed: f64,
}

impl Default for MotorSetup {
    fn default() -> Self {
        Self {
            torque_constant: 1.25,
            resistance: 0.12,
            inductance: 0.8e-3,
            pole_pairs: 10.0,
            rated_torque: 92.0,
            brake_torque: 100.0,
            creep_torque: 25.0,
            creep_gain: 40.0,
            hold_torque: 60.0,
            hold_stiffness: 430.0,
            hold_damping: 25.0,
            current_max: 90.0,
            modulation: 0.95,
            bus_min: 200.0,
            bus_max: 470.0,
            loss_base: 30.0,
            loss_current: 5.8,
            iron_loss: 180.0,
            rated_speed: 240.0,
        }
    }
}

/// Speed below which the brake fades, so that it stops the shaft and never turns it
/// back, rad/s.
const BRAKE_FADE: f64 = 2.0;
/// Width of the band below `bus_max` over which regeneration fades, V.
const REGEN_FADE: f64 = 15.0;
/// One revolution per minute, rad/s.
const RPM: f64 = core::f64::consts::TAU / 60.0;

/// What the motor controller knows when it makes torque.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seen {
    /// The hard-wired enable.
    pub enabled: bool,
    /// Bus voltage, V.
    pub bus: f64,
    /// Shaft speed, rad/s.
    pub speed: f64,
    /// Rotor angle as told, rad, in [0, 2 pi).
    pub angle: f64,
}

/// Where the power of one tick goes, W.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Powers {
    /// Taken from the bus; negative regenerates.
    pub bus: f64,
    /// Heat in the windings and iron.
    pub motor_heat: f64,
    /// Heat in the controller.
    pub controller_heat: f64,
}

impl MotorSetup {
    /// Torque constant, N m/A, of a motor of `kv` rpm per volt.
    #[must_use]
    pub fn torque_constant_of(kv: f64) -> f64 {
        1.0 / (kv * RPM)
    }

    /// Back-EMF at a shaft speed, V.
    #[must_use]
    pub fn back_emf(&self, speed: f64) -> f64 {
        self.torque_constant * speed
    }

    /// Torque of the shorted phases at a shaft speed, N m; against the motion.
    #[must_use]
    pub fn short_torque(&self, speed: f64) -> f64 {
        let reactance = self.pole_pairs * speed * self.inductance;
        let r = self.resistance;
        -self.torque_constant * self.torque_constant * r * speed / (r * r + reactance * reactance)
    }

    /// Torque on the shaft under a command, N m.
    #[must_use]
    pub fn torque(&self, command: Command, seen: &Seen) -> f64 {
        let powered = seen.enabled && seen.bus >= self.bus_min;
        match command {
            Command::Free => 0.0,
            Command::Short => self.short_torque(seen.speed),
            Command::Thrust(share) if powered => self.propel(ratio(share.get()), seen),
            Command::Brake(share) if powered => self.brake(ratio(share.get()), seen),
            Command::Creep(rpm) if powered => {
                let error = f64::from(rpm.get()) * RPM - seen.speed;
                (error * self.creep_gain).clamp(-self.creep_torque, self.creep_torque)
            }
            Command::Hold(share) if powered => self.hold(ratio(share.get()), seen),
            Command::Thrust(_) | Command::Brake(_) | Command::Creep(_) | Command::Hold(_) => 0.0,
        }
    }

    /// Powers that go with a torque (N m) at a speed (rad/s) under a command.
    #[must_use]
    pub fn powers(&self, command: Command, seen: &Seen, torque: f64) -> Powers {
        let current = torque.abs() * (1.0 / self.torque_constant);
        let copper = current * current * self.resistance;
        let iron = self.iron_loss * seen.speed.abs() / self.rated_speed;
        match command {
            // The phase short lives on the shaft's own power; nothing reaches the bus.
            Command::Free | Command::Short => Powers {
                bus: 0.0,
                motor_heat: (-torque * seen.speed).max(0.0) + iron,
                controller_heat: 0.0,
            },
            Command::Thrust(_) | Command::Brake(_) | Command::Creep(_) | Command::Hold(_) => {
                let live = seen.enabled && seen.bus >= self.bus_min;
                let base = if live { self.loss_base } else { 0.0 };
                let controller = base + current * self.loss_current;
                let shaft = torque * seen.speed;
                Powers {
                    bus: if live {
                        shaft + copper + controller
                    } else {
                        0.0
                    },
                    motor_heat: copper + iron,
                    controller_heat: controller,
                }
            }
        }
    }

    fn propel(&self, share: f64, seen: &Seen) -> f64 {
        let headroom = seen.bus * self.modulation - self.back_emf(seen.speed);
        let by_voltage = (headroom / self.resistance).max(0.0);
        let wanted = share * self.rated_torque / self.torque_constant;
        wanted.min(self.current_max).min(by_voltage) * self.torque_constant
    }

    fn brake(&self, share: f64, seen: &Seen) -> f64 {
        let accepted = ((self.bus_max - seen.bus) * (1.0 / REGEN_FADE)).clamp(0.0, 1.0);
        let sense = (seen.speed * (1.0 / BRAKE_FADE)).clamp(-1.0, 1.0);
        -share * self.brake_torque * accepted * sense
    }

    fn hold(&self, share: f64, seen: &Seen) -> f64 {
        if !seen.angle.is_finite() {
            return 0.0;
        }
        let limit = share * self.hold_torque;
        let spring = -self.hold_stiffness * off_park(seen.angle);
        (spring - self.hold_damping * seen.speed).clamp(-limit, limit)
    }
}

/// A command in permille as a share, held to 0 to 1.
fn ratio(permille: i16) -> f64 {
    f64::from(permille.clamp(0, 1000)) * 0.001
}

#[cfg(test)]
mod tests {
    use super::*;
    use mastwright_core::units::{Permille, Rpm};

    const FULL: Permille = Permille::FULL;

    fn seen(bus: f64, speed: f64) -> Seen {
        Seen {
            enabled: true,
            bus,
            speed,
            angle: 0.0,
        }
    }

    #[test]
    fn only_the_short_makes_torque_without_bus_or_enable() {
        let motor = MotorSetup::default();
        for command in [
            Command::Free,
            Command::Thrust(FULL),
            Command::Brake(FULL),
            Command::Creep(Rpm::new(15)),
            Command::Hold(FULL),
        ] {
            let dead = Seen {
                angle: 0.2,
                ..seen(0.0, 20.0)
            };
            let disabled = Seen {
                enabled: false,
                ..seen(400.0, 20.0)
            };
            assert!(motor.torque(command, &dead).abs() < 1e-12);
            assert!(motor.torque(command, &disabled).abs() < 1e-12);
        }
        assert!(motor.torque(Command::Short, &seen(0.0, 20.0)) < -20.0);
    }

    #[test]
    fn the_short_brakes_most_at_a_moderate_speed_and_not_at_rest() {
        let motor = MotorSetup::default();
        assert!(motor.short_torque(0.0).abs() < 1e-12);
        let [slow, peak, fast] = [3.0, 15.0, 200.0].map(|w| -motor.short_torque(w));
        assert!(peak > slow && peak > fast && fast > 0.0);
    }

    #[test]
    fn back_emf_ends_thrust_at_high_speed() {
        let motor = MotorSetup::default();
        assert!((motor.torque(Command::Thrust(FULL), &seen(400.0, 100.0)) - 92.0).abs() < 1e-9);
        assert!(
            motor
                .torque(Command::Thrust(FULL), &seen(400.0, 310.0))
                .abs()
                < 1e-12
        );
    }

    #[test]
    fn the_brake_opposes_motion_regenerates_and_spares_a_full_bus() {
        let motor = MotorSetup::default();
        let fast = seen(400.0, 100.0);
        let torque = motor.torque(Command::Brake(FULL), &fast);
        assert!(torque < -70.0);
        assert!(motor.powers(Command::Brake(FULL), &fast, torque).bus < -5_000.0);
        assert!(motor.torque(Command::Brake(FULL), &seen(400.0, -100.0)) > 70.0);
        assert!(
            motor
                .torque(Command::Brake(FULL), &seen(480.0, 100.0))
                .abs()
                < 1e-12
        );
        assert!(motor.torque(Command::Brake(FULL), &seen(400.0, 0.0)).abs() < 1e-12);
    }

    #[test]
    fn holding_resists_more_the_further_it_is_pushed_and_saturates() {
        let motor = MotorSetup::default();
        let at = |angle: f64| {
            let seen = Seen {
                angle,
                ..seen(400.0, 0.0)
            };
            -motor.torque(Command::Hold(FULL), &seen)
        };
        assert!(at(0.02) > 0.0 && at(0.05) > at(0.02) && at(0.1) > at(0.05));
        assert!((at(0.5) - 60.0).abs() < 1e-9 && (at(1.0) - 60.0).abs() < 1e-9);
    }
}
