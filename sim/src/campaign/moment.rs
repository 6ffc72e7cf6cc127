//! Moments: several instants in every state the missions pass.
//!
//! A state is passed in several missions, in flight and on the ground. Its instants are
//! dealt out to these visits in turn (first its start, then between, then its end), so
//! that each visit has one at least and each state has as many as are asked for.

use mastwright_core::State;

/// One instant of a faultless mission.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moment {
    /// The tick in which a fault begins.
    pub tick: u64,
    /// The state of the controller that the tick belongs to.
    pub phase: State,
    /// Where in that state: "start", "1/2", ..., "end".
    pub instant: String,
    /// The one instant of this state, of all missions, at which every variant of every
    /// fault is flown.
    pub full: bool,
}

/// A stretch of ticks of one mission in one state.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Visit {
    mission: usize,
    phase: State,
    from: u64,
    /// The last tick in the state.
    to: u64,
}

fn visits(mission: usize, states: &[State]) -> Vec<Visit> {
    let mut visits: Vec<Visit> = Vec::new();
    for (tick, state) in (0_u64..).zip(states) {
        match visits.last_mut() {
            Some(visit) if visit.phase == *state => visit.to = tick,
            Some(_) | None => visits.push(Visit {
                mission,
                phase: *state,
                from: tick,
                to: tick,
            }),
        }
    }
    visits
}

/// The moments of every mission, given the state of every tick of each: `instants` in
/// each state, and one at least in each visit of it. In order of time.
#[must_use]
pub fn moments(missions: &[Vec<State>], instants: u64) -> Vec<Vec<Moment>> {
    let visits: Vec<Visit> = (0..)
        .zip(missions)
        .flat_map(|(mission, states)| visits(mission, states))
        .collect();
    let mut moments = vec![Vec::new(); missions.len()];
    for phase in State::ALL {
        let same = |visit: &&Visit| visit.phase.name() == phase.name();
        let of_phase: Vec<&Visit> = visits.iter().filter(same).collect();
        deal(&of_phase, instants.max(1), &mut moments);
    }
    for mission in &mut moments {
        mission.sort_by_key(|moment| moment.tick);
    }
    moments
}

/// Deals the instants of one state to its visits.
fn deal(visits: &[&Visit], instants: u64, moments: &mut [Vec<Moment>]) {
    let share = instants.div_ceil((visits.len() as u64).max(1));
    let mut steps = (0..instants).cycle();
    let mut dealt: Vec<(usize, u64, Moment)> = Vec::new();
    for visit in visits {
        for step in steps.by_ref().take(share as usize) {
            let moment = at(visit, step, instants);
            let same = |(mission, _, other): &(usize, u64, Moment)| {
                *mission == visit.mission && other.tick == moment.tick
            };
            if !dealt.iter().any(same) {
                dealt.push((visit.mission, step, moment));
            }
        }
    }
    let middle = dealt.iter().position(|(_, step, _)| *step == instants / 2);
    for (index, (mission, _, moment)) in dealt.into_iter().enumerate() {
        moments[mission].push(Moment {
            full: index == middle.unwrap_or(0),
            ..moment
        });
    }
}

fn at(visit: &Visit, step: u64, instants: u64) -> Moment {
    let last = (instants - 1).max(1);
    Moment {
        tick: visit.from + (visit.to - visit.from) * step / last,
        phase: visit.phase,
        instant: match step {
            0 => "start".to_owned(),
            end if end == last => "end".to_owned(),
            between => format!("{between}/{last}"),
        },
        full: false,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(moments: &[Moment]) -> Vec<(u64, &str, bool)> {
        let row = |moment: &'_ Moment| (moment.tick, moment.full);
        let names = moments.iter().map(|moment| moment.instant.as_str());
        let rows = moments.iter().map(row).zip(names);
        rows.map(|((tick, full), name)| (tick, name, full))
            .collect()
    }

    #[test]
    fn a_state_visited_once_has_all_its_instants_there() {
        let found_in = moments(&[vec![State::Stowed; 101]], 3);
        assert_eq!(
            found(&found_in[0]),
            [(0, "start", false), (50, "1/2", true), (100, "end", false)]
        );
    }

    #[test]
    fn the_instants_of_a_state_are_dealt_to_its_visits_in_turn() {
        let mission = vec![State::Thrust; 21];
        let found_in = moments(
            &[mission.clone(), mission.clone(), mission.clone(), mission],
            3,
        );
        let all: Vec<_> = found_in.iter().flat_map(|mission| found(mission)).collect();
        assert_eq!(
            all,
            [
                (0, "start", false),
                (10, "1/2", true),
                (20, "end", false),
                (0, "start", false)
            ]
        );
    }

    #[test]
    fn a_state_of_one_tick_has_one_moment() {
        let states = [State::Stowed, State::Resting, State::Stowed];
        let found_in = moments(&[states.to_vec()], 3);
        let ticks: Vec<u64> = found_in[0].iter().map(|moment| moment.tick).collect();
        assert_eq!(ticks, [0, 1, 2]);
    }
}
