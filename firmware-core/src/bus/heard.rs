//! What the next step asks of a reading: for tools that explore the controller, and try of
//! readings that come to the same only one.

use enumset::enum_set;

use super::{Bus, FED, Reading, Stage};
use crate::config::Config;
use crate::inputs::PACKS;
use crate::interlock::{Asked, Condition, Conditions, Permission};

/// What the next step of the bus asks of a reading beside what is proven and the
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
    /// What is asked of what is proven, in the present stage: to go on, to switch, and to draw
    /// from a live bus. Without one, whoever would draw is denied whatever else is proven.
    pub(crate) fn asks(&self) -> Asked {
        const CHARGED: Conditions = enum_set!(Condition::Precharged | Condition::MainClosed);
        const DRAW: Conditions = enum_set!(Condition::BusLive | Condition::AuxWanted);
        let of = Asked::of;
        match self.stage {
            Stage::Draining => of(Condition::BusDead | Condition::MainOpen),
            Stage::Dead => of(Condition::BusDead.into()),
            Stage::Checking => of(Condition::BusDead.into()).permit(Permission::Precharge.into()),
            Stage::Precharging => Asked::default().permit(Permission::CloseMain.into()),
            Stage::Closing | Stage::Opening => of(CHARGED),
            Stage::Live => of(CHARGED | DRAW).permit(Permission::AuxCharge.into()),
        }
    }

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
