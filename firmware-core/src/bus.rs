//! Bus.

/// Stage of the bus.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
#[cfg_attr(feature = "serde", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub enum Stage {
    /// Contactors open; the bus is drained until it is proven dead.
    #[default]
    Draining,
    /// Contactors open, the bus proven dead.
    Dead,
    /// Insulation, main contactor and voltage are checked before pre-charge.
    Checking,
    /// The capacitor charges through the pre-charge resistor.
    Precharging,
    /// The main contactor is commanded and must show that it closed.
    Closing,
    /// Live.
    Live,
    /// The current is let fade before the contactors open.
    Opening,
}
