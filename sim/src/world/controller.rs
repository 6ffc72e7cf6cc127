//! What the world asks of a controller. The real one is [`Sequencer`]; tests put
//! deliberately wrong ones in its place.

use mastwright_core::heat_warning::HeatLimits;
use mastwright_core::{Config, Faults, Inputs, Outputs, Sequencer};

/// Something that answers inputs with outputs once per tick.
pub trait Controller: Clone {
    /// A controller that has just been given power.
    fn wake(retained: Faults, config: &Config) -> Self;

    /// One tick.
    fn step(&mut self, inputs: &Inputs, config: &Config) -> Outputs;

    /// The same controller with one bit of its memory flipped; `bit` counts around
    /// its memory.
    #[must_use]
    fn with_bit_flipped(&self, bit: u32) -> Self;

    /// The limits of the heat warning that flies beside it, on a supply of its own.
    #[must_use]
    fn heat_limits() -> HeatLimits {
        HeatLimits::default()
    }
}

impl Controller for Sequencer {
    fn wake(retained: Faults, config: &Config) -> Self {
        Self::wake(retained, config)
    }

    fn step(&mut self, inputs: &Inputs, config: &Config) -> Outputs {
        Self::step(self, inputs, config)
    }

    /// Flips a bit of the state's compact encoding. Of the flips that leave no state
    /// at all (a number that names no variant) the next bit that leaves one is taken:
    /// safe code cannot hold such a number, and on a target it would be a fault of the
    /// processor's memory protection, not of the controller.
    fn with_bit_flipped(&self, bit: u32) -> Self {
        let Ok(bytes) = postcard::to_allocvec(self) else {
            return *self;
        };
        let bits = bytes.len() * 8;
        let first = bit as usize % bits;
        (0..bits)
            .map(|next| (first + next) % bits)
            .find_map(|place| {
                let mut flipped = bytes.clone();
                flipped[place / 8] ^= 1 << (place % 8);
                postcard::from_bytes(&flipped).ok()
            })
            .unwrap_or(*self)
    }
}
