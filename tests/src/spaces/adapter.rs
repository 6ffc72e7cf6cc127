//! A space as another explorer sees it: the peer beside which ours is measured.

use mastwright_sim::explore::engine::{Space, Variants};
use stateright::{Model, Property};

/// Any of our spaces, as a model of `stateright`.
///
/// Its states have their variant within: it counts as we do, state by state.
///
/// Its properties are of states, ours of transitions; so it only explores here, with one
/// property that always holds, without which it would stop at once.
#[derive(Clone, Debug)]
pub struct Adapter<S>(pub S);

impl<S: Space> Model for Adapter<S> {
    type State = (S::State, u8);
    /// What a transition leads to. Ours are not named: the successor is all there is.
    type Action = (S::State, u8);

    fn init_states(&self) -> Vec<Self::State> {
        let mut states = Vec::new();
        self.0.initial(&mut |state, variants| {
            states.extend(variants.iter().map(|variant| (state, variant)));
        });
        states
    }

    fn actions(&self, (state, variant): &Self::State, actions: &mut Vec<Self::State>) {
        let (variant, mut tally) = (Variants::of(*variant), S::Tally::default());
        self.0
            .expand(state, variant, &mut tally, &mut |to, variants, _| {
                actions.extend(variants.iter().map(|variant| (to, variant)));
            });
    }

    fn next_state(&self, _: &Self::State, action: Self::State) -> Option<Self::State> {
        Some(action)
    }

    fn properties(&self) -> Vec<Property<Self>> {
        vec![Property::always("explores", |_, _| true)]
    }
}
