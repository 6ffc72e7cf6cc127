//! Faults drawn from the catalogue: every entry alike, at any moment of a flight.

use mastwright_core::State;
use mastwright_sim::faults::{Entry, Kind, Scale, catalogue};

use crate::draw::Draw;
use crate::mission::{Mission, Onset, SECOND, Upset};

/// Whether what fails heals by itself before the mission is over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Healing {
    /// It may stay.
    Maybe,
    /// It heals, at a time known beforehand.
    Surely,
}

/// Any fault of the catalogue, at any moment of `mission`.
pub fn any(draw: &mut Draw, mission: &Mission, healing: Healing) -> Upset {
    let entries: Vec<Entry> = catalogue().collect();
    let entry = draw.one(&entries);
    of(draw, mission, healing, &entry)
}

/// This fault, at any moment of `mission`.
pub fn of(draw: &mut Draw, mission: &Mission, healing: Healing, entry: &Entry) -> Upset {
    let duration = match draw.below(10) {
        0 | 1 => Some(draw.between(1, 20)),
        2 | 3 => Some(draw.between(20, 3 * SECOND)),
        4 | 5 => Some(draw.between(3 * SECOND, 60 * SECOND)),
        _ => None,
    };
    let duration = match healing {
        Healing::Maybe => duration,
        Healing::Surely => Some(duration.unwrap_or(30 * SECOND).min(30 * SECOND)),
    };
    // Two channels exchanged are a connector put together wrongly, before power-up.
    let onset = if entry.kind == Kind::Swapped {
        Onset::At(0)
    } else {
        onset(draw, mission, healing)
    };
    Upset {
        onset,
        target: entry.target,
        kind: entry.kind,
        strength: entry.strength.and_then(|scale| strength(draw, &scale)),
        duration: duration.filter(|_| entry.lasts),
        cycle: entry
            .cycle
            .filter(|_| draw.chance(50))
            .map(|_| draw.between(4, 300)),
    }
}

fn onset(draw: &mut Draw, mission: &Mission, healing: Healing) -> Onset {
    let way = match healing {
        Healing::Surely => 0,
        Healing::Maybe => draw.below(10),
    };
    match way {
        0..=3 => Onset::At(draw.below(mission.longest().max(1))),
        4 | 5 => Onset::Mast {
            passes: draw.between(1, 99) as u8,
            stowing: draw.chance(50),
        },
        _ => {
            let most = draw.one(&[10, SECOND, 10 * SECOND]);
            Onset::In(draw.one(&State::ALL).name(), draw.below(most))
        }
    }
}

/// A strength within the scale; none: the default.
fn strength(draw: &mut Draw, scale: &Scale) -> Option<f64> {
    if draw.chance(40) {
        return None;
    }
    let reach = draw.one(&[0.03, 0.3, 1.0]);
    let raw = if draw.chance(50) {
        scale.default + (scale.max - scale.default) * draw.unit() * reach
    } else {
        scale.default + (scale.min - scale.default) * draw.unit() * reach
    };
    let grain = if scale.max - scale.min > 20.0 {
        1.0
    } else {
        100.0
    };
    let round = (raw * grain).round() / grain;
    scale.takes(round).then_some(round)
}
