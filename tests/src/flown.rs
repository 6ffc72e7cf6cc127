//! A mission flown and judged.

use mastwright_core::outputs::{DoorDrive, MastDrive, Motor};
use mastwright_core::{Faults, State};
use mastwright_sim::frame::Frame;
use mastwright_sim::oracle::{Limits, Oracle, Verdict};
use mastwright_sim::scenario::Scenario;
use mastwright_sim::world::{Controller, World};

use crate::mission::{Mission, SECOND, TAIL};

/// For how long everything must rest at the end of a recovery.
const CALM: u32 = 5 * SECOND;

/// What came of a mission.
#[derive(Clone, Debug)]
pub struct Flown {
    /// The oracle's verdict.
    pub verdict: Verdict,
    /// Every fault that latched, at any time.
    pub latched: Faults,
    /// Every state entered, as bits in the order of [`State::ALL`].
    pub visited: u32,
    /// The last frame.
    pub last: Frame,
    /// Ticks for which nothing was driven, nothing moved and no thrust was commanded,
    /// up to the last.
    pub calm: u32,
}

/// The mission's scenario.
///
/// # Panics
/// When the text it writes is refused: a defect of these helpers.
#[must_use]
pub fn scenario(mission: &Mission) -> Scenario {
    let text = mission.scenario("A random mission");
    Scenario::parse("mission.toml", &text).unwrap_or_else(|problem| panic!("{problem:?}\n{text}"))
}

/// Flies and judges a mission, to the end of its tail.
#[must_use]
pub fn fly(mission: &Mission) -> Flown {
    fly_scenario(&scenario(mission), |_| {})
}

/// Flies and judges a scenario; `look` sees every frame. It ends [`TAIL`] after the last
/// action, or at its length.
pub fn fly_scenario(scenario: &Scenario, look: impl FnMut(&Frame)) -> Flown {
    fly_world(World::new(scenario, scenario.seed), scenario, look)
}

/// Flies and judges a scenario in its world, whichever controller is in it, as
/// [`fly_scenario`] does.
pub fn fly_world<C: Controller>(
    mut world: World<C>,
    scenario: &Scenario,
    mut look: impl FnMut(&Frame),
) -> Flown {
    let mut oracle = Oracle::new(&Limits::default());
    let mut latched = Faults::empty();
    let mut visited = 0;
    let mut calm = 0;
    let mut waiting = scenario.actions.len();
    let mut tail = TAIL;
    for _ in 0..scenario.ticks {
        let frame = world.step();
        oracle.judge(frame);
        look(frame);
        latched |= frame.outputs.indications.faults;
        visited |= bit(frame.outputs.indications.state);
        calm = if rests(frame) { calm + 1 } else { 0 };
        waiting -= world.started_actions().iter().count();
        if waiting == 0 {
            tail -= 1;
            if tail == 0 {
                break;
            }
        }
    }
    Flown {
        verdict: oracle.finish(),
        latched,
        visited,
        last: world.frame().clone(),
        calm,
    }
}

/// The bit of a state.
#[must_use]
pub fn bit(state: State) -> u32 {
    let place = State::ALL.iter().position(|s| s.name() == state.name());
    place.map_or(0, |place| 1 << place)
}

/// Nothing is driven or moves, and no thrust is commanded.
fn rests(frame: &Frame) -> bool {
    let drives = &frame.outputs.drives;
    let truth = &frame.truth;
    drives.mast == MastDrive::Off
        && drives.doors == DoorDrive::Off
        && !matches!(drives.motor, Motor::Thrust(_) | Motor::Creep(_))
        && truth.mast.speed.abs() < 0.005
        && truth.door_speed.abs() < 0.01
}

impl Flown {
    /// Everything broken: id and words.
    #[must_use]
    pub fn broken(&self) -> Vec<String> {
        self.verdict.broken().map(ToString::to_string).collect()
    }

    /// The ids of everything broken.
    #[must_use]
    pub fn broken_ids(&self) -> Vec<&'static str> {
        self.verdict.broken().map(|line| line.id).collect()
    }

    /// Nothing broken; or what.
    ///
    /// # Errors
    /// The lines of the verdict that were broken.
    pub fn holds(&self) -> Result<(), String> {
        let broken = self.broken();
        if broken.is_empty() {
            Ok(())
        } else {
            Err(broken.join("\n"))
        }
    }

    /// The recovery ended as it must: stowed, deployed or in a declared halt, and at
    /// rest.
    ///
    /// # Errors
    /// Where it ended instead.
    pub fn recovered(&self) -> Result<(), String> {
        let state = self.last.outputs.indications.state;
        let end = matches!(
            state,
            State::Stowed | State::Deployed | State::Armed | State::Halted(_)
        );
        if !end {
            return Err(format!("after recovery it stands in {state:?}"));
        }
        if self.calm < CALM {
            return Err(format!("after recovery something acts in {state:?}"));
        }
        Ok(())
    }
}
