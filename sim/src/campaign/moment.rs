//! Moments: several instants in every state a mission passes.

use mastwright_core::State;

/// One instant of a faultless mission.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moment {
    /// The tick in which a fault begins.
    pub tick: u64,
    /// The state of the controller that the tick belongs to.
    pub phase: State,
    /// Where in that state: "start", "2/4", ..., "end".
    pub instant: String,
    /// The instant in the middle, at which the further variants of a fault are flown.
    pub middle: bool,
}

/// A stretch of ticks in one state.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Visit {
    phase: State,
    from: u64,
    /// The last tick in the state.
    to: u64,
}

fn visits(states: &[State]) -> Vec<Visit> {
    let mut visits: Vec<Visit> = Vec::new();
    for (tick, state) in (0_u64..).zip(states) {
        match visits.last_mut() {
            Some(visit) if visit.phase == *state => visit.to = tick,
            Some(_) | None => visits.push(Visit {
                phase: *state,
                from: tick,
                to: tick,
            }),
        }
    }
    visits
}

/// `instants` moments in each visit of a state, evenly from its first tick to its last;
/// fewer in a visit of fewer ticks. `states` is the state of every tick.
#[must_use]
pub fn moments(states: &[State], instants: u64) -> Vec<Moment> {
    visits(states)
        .into_iter()
        .flat_map(|visit| within(visit, instants.max(1)))
        .collect()
}

fn within(visit: Visit, instants: u64) -> Vec<Moment> {
    let steps = (instants - 1).max(1);
    let mut moments: Vec<Moment> = Vec::new();
    for step in 0..instants {
        let tick = visit.from + (visit.to - visit.from) * step / steps;
        if moments.last().is_some_and(|last| last.tick == tick) {
            continue;
        }
        moments.push(Moment {
            tick,
            phase: visit.phase,
            instant: match step {
                0 => "start".to_owned(),
                last if last == steps => "end".to_owned(),
                between => format!("{between}/{steps}"),
            },
            middle: false,
        });
    }
    let middle = moments.len() / 2;
    moments[middle].middle = true;
    moments
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_state_has_its_first_and_last_tick_and_some_between() {
        let mut states = vec![State::Waking; 3];
        states.extend([State::Stowed; 101]);
        let found: Vec<(u64, String, bool)> = moments(&states, 5)
            .into_iter()
            .filter(|moment| moment.phase == State::Stowed)
            .map(|moment| (moment.tick, moment.instant, moment.middle))
            .collect();
        let expected = [
            (3, "start", false),
            (28, "1/4", false),
            (53, "2/4", true),
            (78, "3/4", false),
            (103, "end", false),
        ];
        let expected = expected.map(|(tick, name, middle)| (tick, name.to_owned(), middle));
        assert_eq!(found, expected);
    }

    #[test]
    fn a_state_of_one_tick_has_one_moment_and_a_second_visit_its_own() {
        let states = [State::Stowed, State::Resting, State::Stowed];
        let ticks: Vec<u64> = moments(&states, 5).iter().map(|m| m.tick).collect();
        assert_eq!(ticks, [0, 1, 2]);
        assert!(moments(&states, 5).iter().all(|moment| moment.middle));
    }
}
