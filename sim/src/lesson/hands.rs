//! What the hands did, move by move.

use crate::controls::{Controls, Push};

/// Most moves that are kept; what comes after is counted.
pub const MOVES: usize = 256;
/// A lever that rests for so long has ended its move, ticks.
const REST: u32 = 50;

/// One move of a hand.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Move {
    /// The first tick in which the hands stood otherwise than before.
    pub began: u32,
    /// The last tick of a push or of a lever's way; of a switch the same as `began`.
    pub ended: u32,
    /// What was moved.
    pub what: Moved,
}

/// What was moved, and where to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Moved {
    /// The mast selector, pushed and let go.
    Selector(Push),
    /// The throttle lever, 0 to 1.
    Throttle {
        /// From where.
        from: f64,
        /// To where.
        to: f64,
    },
    /// The stop-and-stow switch, thrown (true) or released.
    Stop(bool),
    /// The acknowledge button, pressed and let go.
    Acknowledge,
    /// The bench key, turned on (true) or off.
    BenchKey(bool),
    /// The heat detector test, pressed and let go.
    HeatTest,
    /// The auxiliary charge, switched on (true) or off.
    AuxCharge(bool),
}

/// The moves of a flight, from hands at rest on.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Hands {
    last: Controls,
    moves: Vec<Move>,
    lost: u32,
    /// The latest move of the lever may go on.
    lever: Option<usize>,
}

impl Hands {
    /// The moves, in the order in which they began.
    #[must_use]
    pub fn moves(&self) -> &[Move] {
        &self.moves
    }

    /// Moves that found no room.
    #[must_use]
    pub const fn lost(&self) -> u32 {
        self.lost
    }

    /// Sees the hands of one tick.
    pub(super) fn see(&mut self, now: &Controls, tick: u32) {
        let last = self.last;
        self.last = *now;
        self.push_selector(last.selector, now.selector, tick);
        self.press(Moved::Acknowledge, last.acknowledge, now.acknowledge, tick);
        self.press(Moved::HeatTest, last.heat_test, now.heat_test, tick);
        for (before, after, what) in [
            (last.stop, now.stop, Moved::Stop(now.stop)),
            (
                last.bench_key,
                now.bench_key,
                Moved::BenchKey(now.bench_key),
            ),
            (
                last.aux_charge,
                now.aux_charge,
                Moved::AuxCharge(now.aux_charge),
            ),
        ] {
            if before != after {
                self.keep(what, tick);
            }
        }
        self.pull_lever(last.throttle, now.throttle, tick);
    }

    fn push_selector(&mut self, last: Push, now: Push, tick: u32) {
        if now == Push::Hold {
            return;
        }
        if last == now {
            self.lengthen(Moved::Selector(now), tick);
        } else {
            self.keep(Moved::Selector(now), tick);
        }
    }

    fn press(&mut self, what: Moved, last: bool, now: bool, tick: u32) {
        match (last, now) {
            (false, true) => self.keep(what, tick),
            (true, true) => self.lengthen(what, tick),
            (true | false, false) => {}
        }
    }

    #[expect(
        clippy::float_cmp,
        reason = "a lever that rests is exactly where it was"
    )]
    fn pull_lever(&mut self, last: f64, now: f64, tick: u32) {
        if last == now {
            return;
        }
        let going = self.lever.and_then(|index| self.moves.get_mut(index));
        if let Some(going) = going
            && tick - going.ended <= REST
            && let Moved::Throttle { to, .. } = &mut going.what
        {
            *to = now;
            going.ended = tick;
            return;
        }
        self.lever = (self.moves.len() < MOVES).then_some(self.moves.len());
        let what = Moved::Throttle {
            from: last,
            to: now,
        };
        self.keep(what, tick);
    }

    fn keep(&mut self, what: Moved, tick: u32) {
        if self.moves.len() < MOVES {
            self.moves.push(Move {
                began: tick,
                ended: tick,
                what,
            });
        } else {
            self.lost = self.lost.saturating_add(1);
        }
    }

    /// Lets the latest move of this kind, which still goes on, last until `tick`.
    fn lengthen(&mut self, what: Moved, tick: u32) {
        let latest = self.moves.iter_mut().rev();
        if let Some(latest) = latest.into_iter().find(|one| one.what == what)
            && latest.ended + 1 == tick
        {
            latest.ended = tick;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moves(controls: &[Controls]) -> Vec<Move> {
        let mut hands = Hands::default();
        for (now, tick) in controls.iter().zip(0..) {
            hands.see(now, tick);
        }
        hands.moves().to_vec()
    }

    #[test]
    fn a_push_lasts_until_it_is_let_go_and_a_switch_moves_once() {
        let rest = Controls::default();
        let pushed = Controls {
            selector: Push::Stow,
            stop: true,
            ..rest
        };
        let thrown = Controls { stop: true, ..rest };
        let one = |began, ended, what| Move { began, ended, what };
        assert_eq!(
            moves(&[rest, pushed, pushed, thrown, pushed, rest]),
            [
                one(1, 2, Moved::Selector(Push::Stow)),
                one(1, 1, Moved::Stop(true)),
                one(4, 4, Moved::Selector(Push::Stow)),
                one(5, 5, Moved::Stop(false)),
            ]
        );
    }

    #[test]
    fn a_lever_that_is_pulled_in_steps_makes_one_move() {
        let at = |throttle| Controls {
            throttle,
            ..Controls::default()
        };
        let mut way = vec![at(0.0), at(0.1)];
        way.extend([at(0.1); 40]);
        way.push(at(0.2));
        way.extend([at(0.2); 60]);
        way.push(at(0.0));
        let (first, second) = (
            Moved::Throttle { from: 0.0, to: 0.2 },
            Moved::Throttle { from: 0.2, to: 0.0 },
        );
        let seen = moves(&way);
        assert_eq!((seen[0].began, seen[0].ended, seen[0].what), (1, 42, first));
        assert_eq!((seen[1].began, seen[1].what), (103, second));
        assert_eq!(seen.len(), 2);
    }

    #[test]
    fn what_finds_no_room_is_counted() {
        let mut hands = Hands::default();
        for tick in 0..300 {
            let stop = tick % 2 == 0;
            hands.see(
                &Controls {
                    stop,
                    ..Controls::default()
                },
                tick,
            );
        }
        assert_eq!((hands.moves().len(), hands.lost()), (MOVES, 44));
    }
}
