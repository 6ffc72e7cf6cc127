//! A motor controller commanded by one PWM signal and one line for each regime.
//!
//! At most one regime line is high; none means [`Motor::Short`], so that a processor
//! whose lines fall low leaves the windings shorted. The duty cycle is the strength
//! within the regime. A change of regime goes through short and zero strength, so that
//! no strength is ever taken for that of another regime.

use embedded_hal::digital::OutputPin;
use embedded_hal::pwm::SetDutyCycle;

use super::ports::{MotorController, NotObeyed};
use crate::outputs::Motor;
use crate::units::{Permille, Rpm};

/// Creeping speed at full duty cycle.
pub const CREEP_FULL: Rpm = Rpm::new(100);

/// The regime lines, and the sense of creeping.
#[derive(Debug)]
pub struct MotorLines<P> {
    /// [`Motor::Thrust`].
    pub thrust: P,
    /// [`Motor::Free`].
    pub free: P,
    /// [`Motor::Brake`].
    pub brake: P,
    /// [`Motor::Creep`].
    pub creep: P,
    /// [`Motor::Hold`].
    pub hold: P,
    /// High: creep against the propulsive sense.
    pub reverse: P,
}

/// A regime of the motor, without its strength.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Regime {
    Free,
    Thrust,
    Short,
    Brake,
    CreepAhead,
    CreepBack,
    Hold,
}

/// A motor controller commanded by PWM.
#[derive(Debug)]
pub struct PwmMotor<P, W> {
    lines: MotorLines<P>,
    pwm: W,
    /// The regime commanded last; none if that is not certain.
    regime: Option<Regime>,
}

impl<P: OutputPin, W: SetDutyCycle> PwmMotor<P, W> {
    /// A motor controller on these lines; nothing is written yet.
    #[must_use]
    pub const fn new(lines: MotorLines<P>, pwm: W) -> Self {
        Self {
            lines,
            pwm,
            regime: None,
        }
    }

    /// Zero strength and every line low, trying each whatever became of the others.
    fn release(&mut self) -> Result<(), NotObeyed> {
        self.regime = None;
        let off = self.pwm.set_duty_cycle_fully_off().map_err(|_| NotObeyed);
        let low = self.select(Regime::Short);
        off.and(low)
    }

    /// Raises the lines of one regime, once all others are low.
    fn select(&mut self, regime: Regime) -> Result<(), NotObeyed> {
        let back = regime == Regime::CreepBack;
        let creep = back || regime == Regime::CreepAhead;
        let mut lines = [
            (&mut self.lines.reverse, back),
            (&mut self.lines.thrust, regime == Regime::Thrust),
            (&mut self.lines.free, regime == Regime::Free),
            (&mut self.lines.brake, regime == Regime::Brake),
            (&mut self.lines.creep, creep),
            (&mut self.lines.hold, regime == Regime::Hold),
        ];
        let mut all_low = Ok(());
        for (line, wanted) in &mut lines {
            if !*wanted {
                let low = line.set_low().map_err(|_| NotObeyed);
                all_low = all_low.and(low);
            }
        }
        all_low?;
        for (line, wanted) in lines {
            if wanted {
                line.set_high().map_err(|_| NotObeyed)?;
            }
        }
        Ok(())
    }

    fn strength(&mut self, strength: Permille) -> Result<(), NotObeyed> {
        let share = strength.clamp(Permille::ZERO, Permille::FULL);
        // Within 0 to 1000 by the clamp.
        let numerator = u16::try_from(share.get()).unwrap_or(0);
        self.pwm
            .set_duty_cycle_fraction(numerator, 1000)
            .map_err(|_| NotObeyed)
    }
}

impl<P: OutputPin, W: SetDutyCycle> MotorController for PwmMotor<P, W> {
    fn command(&mut self, motor: Motor) -> Result<(), NotObeyed> {
        let (regime, strength) = translate(motor);
        if self.regime != Some(regime) || regime == Regime::Short {
            self.release()?;
        }
        self.select(regime)?;
        self.regime = Some(regime);
        self.strength(strength)
    }
}

/// A command as a regime and the strength within it.
fn translate(motor: Motor) -> (Regime, Permille) {
    match motor {
        Motor::Free => (Regime::Free, Permille::ZERO),
        Motor::Short => (Regime::Short, Permille::ZERO),
        Motor::Thrust(share) => (Regime::Thrust, share),
        Motor::Brake(share) => (Regime::Brake, share),
        Motor::Hold(share) => (Regime::Hold, share),
        Motor::Creep(speed) if speed < Rpm::ZERO => (Regime::CreepBack, creep_strength(speed)),
        Motor::Creep(speed) => (Regime::CreepAhead, creep_strength(speed)),
    }
}

fn creep_strength(speed: Rpm) -> Permille {
    let tenfold = speed.magnitude().min(CREEP_FULL).get().saturating_mul(10);
    Permille::new(tenfold)
}

#[cfg(test)]
mod tests {
    use std::cell::RefCell;
    use std::convert::Infallible;
    use std::rc::Rc;
    use std::string::String;
    use std::vec::Vec;

    use embedded_hal::{digital, pwm};

    use super::*;

    /// What was written, in order: a line's letter (capital: high), or a duty cycle.
    type Log = Rc<RefCell<Vec<String>>>;

    struct Line(char, Log);

    impl digital::ErrorType for Line {
        type Error = Infallible;
    }

    impl OutputPin for Line {
        fn set_low(&mut self) -> Result<(), Infallible> {
            self.1.borrow_mut().push(self.0.into());
            Ok(())
        }

        fn set_high(&mut self) -> Result<(), Infallible> {
            self.1.borrow_mut().push(self.0.to_ascii_uppercase().into());
            Ok(())
        }
    }

    struct Duty(Log);

    impl pwm::ErrorType for Duty {
        type Error = Infallible;
    }

    impl SetDutyCycle for Duty {
        fn max_duty_cycle(&self) -> u16 {
            2000
        }

        fn set_duty_cycle(&mut self, duty: u16) -> Result<(), Infallible> {
            self.0.borrow_mut().push(std::format!("{duty}"));
            Ok(())
        }
    }

    fn motor() -> (PwmMotor<Line, Duty>, Log) {
        let log = Log::default();
        let line = |letter| Line(letter, log.clone());
        let lines = MotorLines {
            thrust: line('t'),
            free: line('f'),
            brake: line('b'),
            creep: line('c'),
            hold: line('h'),
            reverse: line('r'),
        };
        (PwmMotor::new(lines, Duty(log.clone())), log)
    }

    /// What is written for the last of `commands`.
    fn written(commands: &[Motor]) -> String {
        let (mut motor, log) = motor();
        for command in commands {
            log.borrow_mut().clear();
            assert_eq!(motor.command(*command), Ok(()));
        }
        log.borrow().join(" ")
    }

    #[test]
    fn each_regime_raises_its_own_line_at_its_strength() {
        for (command, expected) in [
            (Motor::Thrust(Permille::new(500)), "T 1000"),
            (Motor::Brake(Permille::new(1000)), "B 2000"),
            (Motor::Hold(Permille::new(1)), "H 2"),
            (Motor::Creep(Rpm::new(15)), "C 300"),
            (Motor::Creep(Rpm::new(-15)), "R C 300"),
            (Motor::Creep(Rpm::ZERO), "C 0"),
            (Motor::Creep(Rpm::MAX), "C 2000"),
            (Motor::Creep(Rpm::MIN), "R C 2000"),
            (Motor::Free, "F 0"),
            (Motor::Short, "0"),
            (Motor::Thrust(Permille::MAX), "T 2000"),
            (Motor::Thrust(Permille::MIN), "T 0"),
        ] {
            let raised: Vec<String> = written(&[command])
                .split(' ')
                .skip(7)
                .filter(|word| !word.starts_with(|c: char| c.is_ascii_lowercase()))
                .map(String::from)
                .collect();
            assert_eq!(raised.join(" "), expected, "{command:?}");
        }
    }

    #[test]
    fn a_change_of_regime_passes_through_short_at_no_strength() {
        assert_eq!(
            written(&[
                Motor::Thrust(Permille::FULL),
                Motor::Brake(Permille::new(600))
            ]),
            "0 r t f b c h r t f c h B 1200"
        );
    }

    #[test]
    fn within_a_regime_only_the_strength_changes_and_the_lines_are_renewed() {
        assert_eq!(
            written(&[
                Motor::Thrust(Permille::FULL),
                Motor::Thrust(Permille::new(250))
            ]),
            "r f b c h T 500"
        );
    }
}
