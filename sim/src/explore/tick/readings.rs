//! What may be read at a node, once of what comes to the same.

use mastwright_core::sequencer::{Asks, Sense, Turn};
use mastwright_core::walk::{Timer, Timers};
use rustc_hash::FxHashMap;

use super::Here;
use super::coming::{Coming, Lie, chosen};
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

/// Where a reading stands among those that come to different things: at the end, if it comes to
/// another, or if what it comes to is not known.
fn place(comes: Option<Comes>, end: usize, senses: &mut FxHashMap<Comes, usize>) -> usize {
    comes.map_or(end, |comes| *senses.entry(comes).or_insert(end))
}

impl Readings {
    /// One of them.
    pub(super) fn any(&self) -> Reading {
        self.all[0].0.clone()
    }

    /// Those to be tried where so much is asked. They are gathered once for all hands that ask it.
    pub(super) fn where_asked(
        &mut self,
        asked: &Asks,
        senses: &mut FxHashMap<Comes, usize>,
    ) -> &[Reading] {
        let known = self.where_asked.iter().position(|(of, _)| of == asked);
        let at = known.unwrap_or_else(|| {
            let tried = self.tried(asked, senses);
            self.where_asked.push((*asked, tried));
            self.where_asked.len() - 1
        });
        &self.where_asked[at].1
    }

    fn tried(&self, asked: &Asks, senses: &mut FxHashMap<Comes, usize>) -> Vec<Reading> {
        let mut tried: Vec<Reading> = Vec::new();
        senses.clear();
        for (reading, comes) in &self.all {
            let comes = comes
                .map(|(sense, left, moved, told)| (sense.where_asked(asked), left, moved, told));
            let at = place(comes, tried.len(), senses);
            match tried.get_mut(at) {
                Some(known) => known.cases |= reading.cases,
                None => tried.push(reading.clone()),
            }
        }
        tried
    }
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
        let mut all: Vec<(Reading, Option<Comes>)> = Vec::new();
        let senses = &mut scratch.senses;
        senses.clear();
        lies::each(&read, |sensed, cases| {
            let told = Told::of(&sensed.inputs);
            let comes = self.meaning(&nobody, sensed).map(|(sense, left, moved)| {
                let moved = moved.iter().filter(may_run_out).collect();
                (sense, left, moved, told)
            });
            let at = place(comes, all.len(), senses);
            match all.get_mut(at) {
                Some((known, _)) => known.cases |= cases,
                None => {
                    let sensed = *sensed;
                    all.push((
                        Reading {
                            sensed,
                            cases,
                            told,
                        },
                        comes,
                    ));
                }
            }
        });
        Readings {
            of,
            all,
            where_asked: Vec::new(),
        }
    }

    /// How the sequencer is turned by what comes, whatever is read of the plant.
    pub(super) fn turned(&self, coming: &Coming<'_>) -> Turn {
        let sensed = coming.sensed();
        let mut controller = self.real;
        memory::prepare(&mut controller, &chosen(coming.hands, &sensed), self.config);
        controller.turn(&sensed.inputs, self.config)
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
        Some((sense.where_asked(&self.may_ask), left.bits, left.moved))
    }
}
