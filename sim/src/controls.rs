//! What the pilot's hands do, before any contact or wire can fail.

use serde::{Deserialize, Serialize};

/// Where the pilot pushes the spring-centred mast selector.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Push {
    /// Centred.
    #[default]
    Hold,
    /// Pushed to deploy.
    Deploy,
    /// Pushed to stow.
    Stow,
}

/// The true positions of all controls.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Controls {
    /// Throttle lever, 0 closed to 1 fully open.
    pub throttle: f64,
    /// Mast selector.
    pub selector: Push,
    /// Guarded stop-and-stow switch thrown.
    pub stop: bool,
    /// Bench key on.
    pub bench_key: bool,
    /// Alert acknowledge button pressed.
    pub acknowledge: bool,
    /// Heat detector test button pressed.
    pub heat_test: bool,
    /// Auxiliary charge requested.
    pub aux_charge: bool,
}
