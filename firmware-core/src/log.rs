//! What a tick tells over the debug channel, with the `defmt` feature.
//!
//! The decoder on the host has the words; the target sends numbers only. Without the
//! feature nothing is compiled in.

use crate::outputs::Outputs;

/// Tells the events and denials of one tick.
#[cfg(feature = "defmt")]
pub(crate) fn tell(outputs: &Outputs) {
    for event in &outputs.events {
        defmt::info!("{}", event);
    }
    for denial in &outputs.denials {
        defmt::trace!("denied {}: {}", denial.permission, denial.reasons);
    }
    if outputs.events_lost > 0 {
        defmt::warn!("{} events found no room", outputs.events_lost);
    }
}

/// Tells nothing.
#[cfg(not(feature = "defmt"))]
pub(crate) const fn tell(_: &Outputs) {}
