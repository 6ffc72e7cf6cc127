//! What may be read at a node, once of what comes to the same.

use mastwright_core::sequencer::Sense;
use mastwright_core::walk::{Timer, Timers};
use rustc_hash::FxHashMap;

use super::Here;
use super::coming::{Lie, chosen};
use crate::explore::cases::{Cases, Several};
use crate::explore::explored::Explored;
use crate::explore::hands::Hands;
use crate::explore::lies::{self, OF_HANDS, Read};
use crate::explore::memory::{self, Acknowledge};
use crate::explore::plant::Plant;
use crate::explore::scratch::{Comes, Of, Reading, Readings, Scratch};
use crate::explore::sense::{Sensed, sound};
use crate::explore::told::Told;

/// What the parts make of readings, the packed memory left, and the timers that run.
type Meaning = (Sense, u64, Timers);

/// Adds a reading, or its cases to one that comes to the same; true if it is another. What it
/// comes to may not be known.
fn add_once(
    reading: Reading,
    comes: Option<Comes>,
    to: &mut Vec<Reading>,
    senses: &mut FxHashMap<Comes, usize>,
) -> bool {
    let next = to.len();
    let at = comes.map_or(next, |comes| *senses.entry(comes).or_insert(next));
    if let Some(known) = to.get_mut(at) {
        known.cases |= reading.cases;
        return false;
    }
    to.push(reading);
    true
}

impl<C: Explored> Here<'_, C> {
    /// Everything that may be read of a plant whatever the hands are, once of what comes to
    /// the same. What the parts of the controller make of it does not depend on the hands;
    /// whether faults are being cleared decides what is tried.
    pub(super) fn readings(&self, plant: &Plant, hands: &Hands, scratch: &mut Scratch) -> Readings {
        let of = Of {
            blade: (plant.place, plant.pace),
            clears: hands.acknowledge == Acknowledge::Held,
        };
        if let Some(known) = scratch.readings.take(&of) {
            return known;
        }
        let acknowledge = if of.clears {
            Acknowledge::Held
        } else {
            Acknowledge::Up
        };
        let nobody = Hands {
            acknowledge,
            ..Hands::default()
        };
        let read = self.read(plant, &nobody, self.broken);
        let may_run_out =
            |timer: &Timer| !self.may_run_out(*timer, Timers::empty(), &read).is_empty();
        let mut all = Vec::new();
        let mut came_to = Vec::new();
        let senses = &mut scratch.senses;
        senses.clear();
        lies::each(&read, |sensed, cases| {
            let told = Told::of(&sensed.inputs);
            let comes = self.meaning(&nobody, sensed).map(|(sense, left, moved)| {
                let moved = moved.iter().filter(may_run_out).collect();
                (sense, left, moved, told)
            });
            let reading = Reading {
                sensed: *sensed,
                cases,
                told,
            };
            if add_once(reading, comes, &mut all, senses) {
                came_to.push(comes);
            }
        });
        let mut still = Vec::new();
        senses.clear();
        for (reading, comes) in all.iter().zip(came_to) {
            let comes = comes
                .map(|(sense, left, moved, told)| (self.real.still(&sense), left, moved, told));
            add_once(reading.clone(), comes, &mut still, senses);
        }
        Readings { of, all, still }
    }

    /// What controls and the airspeed may say that comes to something else than what they
    /// ought to say, where they lie.
    pub(super) fn lies(&self, hands: &Hands, cases: Cases) -> Vec<Lie> {
        if (cases & self.broken.with_any(OF_HANDS)).is_empty() {
            return Vec::new();
        }
        let read = self.read(&self.world.plant, hands, self.broken);
        let truth = sound(read.plant, hands, true);
        let mut known = vec![self.meaning(hands, &truth)];
        let mut all: Vec<Lie> = Vec::new();
        lies::of_hands(&read, &truth, |sensed, cases| {
            let (controls, airspeed) = (sensed.inputs.controls, sensed.inputs.airspeed);
            let lie = Lie {
                controls,
                airspeed,
                cases,
            };
            let meaning = self.meaning(hands, sensed);
            let heard = |at: usize| {
                let earlier = at.checked_sub(1).and_then(|at| all.get(at));
                earlier.is_none_or(Lie::hears_throttle) == lie.hears_throttle()
            };
            let same = known.iter().zip(0..);
            let mut same = same.filter(|(known, _)| meaning.is_some() && **known == meaning);
            match same.find(|(_, at)| heard(*at)) {
                Some((_, 0)) => {}
                Some((_, at)) => all[at - 1].cases |= cases,
                None => {
                    known.push(meaning);
                    all.push(lie);
                }
            }
        });
        all
    }

    pub(super) fn read<'b>(&self, plant: &'b Plant, hands: &'b Hands, broken: Several) -> Read<'b> {
        Read {
            plant,
            hands,
            broken,
            counts: self.counts,
        }
    }

    /// What a reading comes to; not known of a controller that was tampered with.
    fn meaning(&self, hands: &Hands, sensed: &Sensed) -> Option<Meaning> {
        let mut prepared = self.real;
        memory::prepare(&mut prepared, &chosen(hands, sensed), self.config);
        let mut controller = C::recall(prepared, self.mind);
        let sense = controller.sense(&sensed.inputs, self.config)?;
        let left = memory::pack(controller.memory().0, self.given(), self.config);
        Some((sense, left.bits, left.moved))
    }
}
