//! A space as another explorer sees it: the peer beside which ours is measured.

use mastwright_sim::explore::engine::Space;
use stateright::{Model, Property};

/// Any of our spaces, as a model of `stateright`.
///
/// Its properties are of states, ours of transitions; so it only explores here, with one
/// property that always holds, without which it would stop at once.
#[derive(Clone, Debug)]
pub struct Adapter<S>(pub S);

impl<S: Space> Model for Adapter<S> {
    type State = S::State;
    /// What a transition leads to. Ours are not named: the successor is all there is.
    type Action = S::State;

    fn init_states(&self) -> Vec<S::State> {
        let mut states = Vec::new();
        self.0.initial(&mut |state| states.push(state));
        states
    }

    fn actions(&self, state: &S::State, actions: &mut Vec<S::State>) {
        let mut tally = S::Tally::default();
        self.0
            .expand(state, &mut tally, &mut |to, _| actions.push(to));
    }

    fn next_state(&self, _: &S::State, action: S::State) -> Option<S::State> {
        Some(action)
    }

    fn properties(&self) -> Vec<Property<Self>> {
        vec![Property::always("explores", |_, _| true)]
    }
}
