//! What the next step asks of a reading: for tools that explore the controller, and try of
//! readings that come to the same only one.

use super::{Bus, FED, Reading, Stage};
use crate::config::Config;
use crate::inputs::PACKS;

/// What the next step of the bus asks of a reading beside what the reading proves and the
/// packs that are joined.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Heard {
    lags: bool,
    fed: bool,
    faded: bool,
    live: bool,
    candidates: [bool; PACKS],
}

impl Bus {
    /// What the next step asks of a reading in the present stage.
    pub(crate) fn hears(&self, reading: &Reading, config: &Config) -> Heard {
        let lags = reading.lags(config.precharge_share);
        let none = Heard::default();
        match self.stage {
            Stage::Draining => Heard {
                lags,
                // Contacts that touch decide alone.
                fed: reading.main_closed == Some(true) || reading.reaches(FED),
                ..none
            },
            Stage::Dead | Stage::Precharging => none,
            Stage::Checking => Heard {
                candidates: reading.packs.candidates,
                ..none
            },
            Stage::Closing => Heard {
                live: reading.proves_live(config),
                ..none
            },
            Stage::Live => Heard { lags, ..none },
            Stage::Opening => Heard {
                faded: reading.faded_to(config.open_current),
                ..none
            },
        }
    }
}
