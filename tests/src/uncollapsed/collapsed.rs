//! The exploration with its time collapsed, and fewer hands.

use mastwright_core::timer::{Countdown, Sustained};
use mastwright_core::units::Ticks;
use mastwright_core::walk::{Flag, Timer, Timers, Visitor};
use mastwright_core::{Config, Inputs, Outputs, Sequencer};
use mastwright_sim::explore::engine::{Ended, Options, Reached, Space, Variants, explore};
use mastwright_sim::explore::explored::{Explored, NoMind};
use mastwright_sim::explore::hands::Hands;
use mastwright_sim::explore::memory;
use mastwright_sim::explore::node::Node;
use mastwright_sim::explore::space::Aircraft;

/// Which of the hands that matter are tried.
pub type Tried = fn(&Hands) -> bool;

/// The space of a controller, with fewer hands.
#[derive(Clone, Debug)]
pub struct Handed<C> {
    /// The space.
    pub space: Aircraft<C>,
    /// The hands that are tried in it.
    pub tried: Tried,
}

impl<C: Explored> Space for Handed<C> {
    type State = Node<C::Mind>;
    type Tally = ();

    fn initial(&self, found: &mut impl FnMut(Self::State, Variants)) {
        self.space.initial(found);
    }

    fn expand(
        &self,
        node: &Self::State,
        variants: Variants,
        (): &mut (),
        found: &mut impl FnMut(Self::State, Variants, u64),
    ) {
        let mut found = |to| found(to, variants, 0);
        self.space.each_timeless(node, &mut |to, _| found(to));
        for hands in self.hands(node) {
            self.space.each_tick(node, &hands, &mut |to, _| found(to));
        }
    }
}

impl<C: Explored> Handed<C> {
    /// The hands tried at a node: those in whose place the exploration tries others as these
    /// others, each once.
    #[must_use]
    pub fn hands(&self, node: &Node<C::Mind>) -> Vec<Hands> {
        let matters = self.space.matters(node);
        let tried = Hands::every().filter(self.tried);
        let mut hands: Vec<Hands> = tried.map(|hands| matters.plain(hands)).collect();
        hands.sort_unstable();
        hands.dedup();
        hands
    }

    /// All nodes of it.
    ///
    /// # Panics
    /// When the space is not explored whole.
    #[must_use]
    pub fn reached(&self) -> Reached<Node<C::Mind>> {
        let options = Options {
            threads: 2,
            ..Options::default()
        };
        let found = explore(self, &options, &mut |_| {}).expect("no file is used");
        assert_eq!(found.ended, Ended::Whole);
        found.reached.expect("states are kept whole")
    }
}

/// A controller whose packed memory forgets a flag.
#[derive(Clone, Copy, Debug)]
pub struct Forgets<const FLAG: u32>(Sequencer);

impl<const FLAG: u32> Explored for Forgets<FLAG> {
    type Mind = NoMind;

    fn recall(real: Sequencer, _mind: NoMind) -> Self {
        Self(real)
    }

    fn memory(&self) -> (Sequencer, NoMind) {
        struct Clears(u32);
        impl Visitor for Clears {
            fn flag(&mut self, flag: Flag, is_set: &mut bool) {
                *is_set &= flag as u32 != self.0;
            }
        }
        let mut kept = self.0;
        kept.walk(&mut Clears(FLAG), &Config::default());
        (kept, NoMind)
    }

    fn step(&mut self, inputs: &Inputs, config: &Config) -> Outputs {
        self.0.step(inputs, config)
    }
}

/// A controller one of whose timers never runs out: as if a fact said so.
#[derive(Clone, Copy, Debug)]
pub struct Never<const TIMER: u32>(Sequencer);

impl<const TIMER: u32> Explored for Never<TIMER> {
    type Mind = NoMind;

    fn recall(real: Sequencer, _mind: NoMind) -> Self {
        Self(real)
    }

    fn memory(&self) -> (Sequencer, NoMind) {
        (self.0, NoMind)
    }

    fn step(&mut self, inputs: &Inputs, config: &Config) -> Outputs {
        struct PutsBack(Timers);
        impl Visitor for PutsBack {
            fn countdown(&mut self, timer: Timer, left: &mut Countdown) {
                if self.0.contains(timer) {
                    *left = Countdown::of(left.left().plus(Ticks::new(1)));
                }
            }

            fn sustained(&mut self, timer: Timer, held: &mut Sustained, _limit: Ticks) {
                if self.0.contains(timer) {
                    held.restart();
                }
            }
        }
        let timers = Timers::from_repr(1 << TIMER) & memory::ripe(&self.0, config);
        self.0.walk(&mut PutsBack(timers), config);
        self.0.step(inputs, config)
    }
}
