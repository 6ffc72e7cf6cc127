//! How figures went: samples at equal distances, ever farther apart in a long flight.

use crate::frame::Frame;

/// Ticks between two samples at first: 0.2 s.
const EVERY: u64 = 20;
/// Most samples of a series: one hour at 0.2 s. When they are full every second one is
/// dropped and the distance doubled.
const MOST: usize = 18_000;

/// The figures that are followed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Series {
    /// Motor windings, deg C.
    Motor,
    /// Motor controller, deg C.
    Controller,
    /// Hottest cell of the first pack, deg C.
    Pack1,
    /// Hottest cell of the second pack, deg C.
    Pack2,
    /// Charge of the first pack, 0 to 1.
    Charge1,
    /// Charge of the second pack, 0 to 1.
    Charge2,
    /// Bus voltage, V.
    Bus,
    /// Shaft speed, rpm.
    Shaft,
}

/// Every series, in the order of its values.
pub const SERIES: [Series; 8] = [
    Series::Motor,
    Series::Controller,
    Series::Pack1,
    Series::Pack2,
    Series::Charge1,
    Series::Charge2,
    Series::Bus,
    Series::Shaft,
];

impl Series {
    fn read(self, frame: &Frame) -> f32 {
        let truth = &frame.truth;
        let value = match self {
            Self::Motor => truth.motor_temperature,
            Self::Controller => truth.controller_temperature,
            Self::Pack1 => truth.packs[0].temperature,
            Self::Pack2 => truth.packs[1].temperature,
            Self::Charge1 => truth.packs[0].charge,
            Self::Charge2 => truth.packs[1].charge,
            Self::Bus => truth.bus.voltage,
            Self::Shaft => truth.propeller.speed * 60.0 / std::f64::consts::TAU,
        };
        #[expect(clippy::cast_possible_truncation, reason = "for a picture")]
        let value = value as f32;
        value
    }
}

/// Samples of every series since the start.
#[derive(Clone, Debug)]
pub struct Trends {
    samples: [Vec<f32>; SERIES.len()],
    every: u64,
}

impl Default for Trends {
    fn default() -> Self {
        Self {
            samples: Default::default(),
            every: EVERY,
        }
    }
}

impl Trends {
    /// Takes a sample if one is due.
    pub(super) fn see(&mut self, frame: &Frame) {
        if self.count(frame.tick) != self.samples[0].len() + 1 {
            return;
        }
        if self.samples[0].len() == MOST {
            self.thin();
            return self.see(frame);
        }
        for (samples, series) in self.samples.iter_mut().zip(SERIES) {
            samples.push(series.read(frame));
        }
    }

    /// Drops every second sample.
    fn thin(&mut self) {
        for samples in &mut self.samples {
            let mut index = 0;
            samples.retain(|_| {
                index += 1;
                index % 2 == 1
            });
        }
        self.every *= 2;
    }

    /// Drops the samples after `tick`.
    pub(super) fn forget_after(&mut self, tick: u64) {
        let count = self.count(tick);
        for samples in &mut self.samples {
            samples.truncate(count);
        }
    }

    /// How many samples there are up to `tick`.
    fn count(&self, tick: u64) -> usize {
        usize::try_from(tick / self.every).unwrap_or(usize::MAX - 1) + 1
    }

    /// Time between two samples, s.
    #[must_use]
    pub fn every(&self) -> f64 {
        #[expect(clippy::cast_precision_loss, reason = "ticks stay far below 2^52")]
        let every = self.every as f64;
        every * crate::frame::TICK
    }

    /// The samples of one series up to `tick`, the latest last.
    #[must_use]
    pub fn until(&self, series: Series, tick: u64) -> &[f32] {
        let samples = &self.samples[series as usize];
        &samples[..self.count(tick).min(samples.len())]
    }

    /// Bytes held.
    pub(super) fn bytes(&self) -> usize {
        let held = self.samples.iter().map(Vec::capacity);
        held.sum::<usize>() * size_of::<f32>()
    }
}
