//! The faults of a matrix: every entry of the catalogue, in its strengths and durations.

use crate::faults::{Entry, Fault, Kind, Target, catalogue};

/// How long a fault lasts that heals by itself, s.
const HEALING: f64 = 1.0;
/// How long the supply is lost at a glitch, s.
const GLITCH: f64 = 0.05;
/// Bits of memory flipped at each moment.
pub const BITS: u64 = 12;
/// Bits drawn from: more than the controller has, so that each is as likely.
const MEMORY_BITS: u64 = 1 << 20;

/// A fault as a matrix orders it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Variant {
    /// The fault.
    pub fault: Fault,
    /// The entry with its defaults, flown at every moment; other variants are flown at one
    /// moment of each state.
    pub plain: bool,
}

/// Every variant of every entry; a bit flip stands once and is drawn for each moment.
#[must_use]
pub fn variants() -> Vec<Variant> {
    catalogue().flat_map(|entry| of(&entry)).collect()
}

fn of(entry: &Entry) -> Vec<Variant> {
    let mut variants = vec![Variant {
        fault: entry.fault(),
        plain: true,
    }];
    if entry.kind != Kind::BitFlip {
        variants.extend(strengths(entry).into_iter().map(further));
    }
    variants.extend(healing(entry).into_iter().map(further));
    variants
}

const fn further(fault: Fault) -> Variant {
    Variant {
        fault,
        plain: false,
    }
}

/// The entry in other strengths: the default the other way, and both ends of its scale.
fn strengths(entry: &Entry) -> Vec<Fault> {
    let Some(scale) = entry.strength else {
        return Vec::new();
    };
    let mut given: Vec<f64> = Vec::new();
    for strength in [-scale.default, scale.min, scale.max] {
        let new = strength != scale.default && !given.contains(&strength);
        if new && scale.takes(strength) {
            given.push(strength);
        }
    }
    let fault = |strength| Fault::new(entry.target, entry.kind, Some(strength), None);
    given
        .into_iter()
        .map(|strength| fault(strength).expect("the scale takes it"))
        .collect()
}

/// The entry healed after a while, where healing is more than the fault's absence: what
/// is silent, held or gone comes back, and what was wrong is suddenly right.
fn healing(entry: &Entry) -> Vec<Fault> {
    if !entry.lasts {
        return Vec::new();
    }
    let heals = match entry.kind {
        Kind::Stuck
        | Kind::StuckAt
        | Kind::StuckOpen
        | Kind::StuckClosed
        | Kind::Dropout
        | Kind::Dead
        | Kind::StuckOn
        | Kind::BrownOut
        | Kind::Acts => true,
        Kind::Offset
        | Kind::Drift
        | Kind::Noise
        | Kind::Invalid
        | Kind::Intermittent
        | Kind::Inverted
        | Kind::Delayed
        | Kind::Swapped
        | Kind::Slow
        | Kind::Reversed
        | Kind::Weak
        | Kind::Reset
        | Kind::BitFlip => false,
    };
    let durations: &[f64] = match (heals, entry.target) {
        (false, _) => &[],
        (true, Target::Power) => &[GLITCH, HEALING],
        (true, _) => &[HEALING],
    };
    let lasting = |seconds: &f64| entry.fault().lasting(*seconds);
    durations
        .iter()
        .map(|seconds| lasting(seconds).expect("the entry lasts"))
        .collect()
}

/// The flip of one bit, drawn by `draw`.
#[must_use]
pub fn bit_flip(draw: u64) -> Fault {
    #[expect(clippy::cast_precision_loss, reason = "twenty bits")]
    let bit = (draw % MEMORY_BITS) as f64;
    Fault::new(Target::Memory, Kind::BitFlip, Some(bit), None).expect("the scale takes every bit")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_entry_stands_once_with_its_defaults_and_no_variant_twice() {
        let variants = variants();
        let plain = variants.iter().filter(|variant| variant.plain).count();
        assert_eq!(plain, catalogue().count());
        for (index, variant) in variants.iter().enumerate() {
            assert!(!variants[..index].contains(variant), "{}", variant.fault);
        }
    }

    #[test]
    fn a_bit_flip_is_accepted_whatever_is_drawn() {
        for draw in [0, 1, u64::MAX, 0x1234_5678_9abc_def0] {
            assert_eq!(bit_flip(draw).kind(), Kind::BitFlip);
        }
    }
}
