//! What may be read at a node, once of what comes to the same.

use mastwright_core::sequencer::Sense;
use mastwright_core::walk::Timers;

use super::Here;
use super::coming::{Lie, chosen};
use crate::explore::cases::{Cases, Several};
use crate::explore::explored::Explored;
use crate::explore::hands::Hands;
use crate::explore::lies::{self, OF_HANDS, Read};
use crate::explore::memory::{self, Acknowledge};
use crate::explore::plant::Plant;
use crate::explore::scratch::{Of, Reading, Readings, Scratch};
use crate::explore::sense::{Sensed, sound};
use crate::explore::told::Told;

/// What the parts make of readings, the packed memory left, and the timers that run.
type Meaning = (Sense, u64, Timers);

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
        let mut all: Vec<Reading> = Vec::new();
        scratch.senses.clear();
        lies::each(&read, |sensed, cases| {
            let told = Told::of(&sensed.inputs);
            let meaning = self.meaning(&nobody, sensed);
            let next = all.len();
            let known = meaning.map_or(next, |meaning| {
                let may_run_out = |timer| !self.may_run_out(timer, &read).is_empty();
                let moved = meaning.2.iter().filter(|timer| may_run_out(*timer));
                let comes = (meaning.0, meaning.1, moved.collect(), told);
                *scratch.senses.entry(comes).or_insert(next)
            });
            if let Some(known) = all.get_mut(known) {
                known.cases |= cases;
                return;
            }
            all.push(Reading {
                sensed: *sensed,
                cases,
                told,
            });
        });
        Readings { of, all }
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
