//! A fault as a scenario orders it: what fails, how, how much, for how long.

use super::Cue;

/// A fault ordered by a scenario, its names as in the catalogue of faults.
#[derive(Clone, Debug, PartialEq)]
pub struct Injection {
    /// When it begins.
    pub cue: Cue,
    /// What fails.
    pub target: String,
    /// How.
    pub kind: String,
    /// How much, in the unit of the kind; none: the kind's own.
    pub strength: Option<f64>,
    /// For how long, s; none: for good.
    pub duration: Option<f64>,
    /// Mean cycle of a fault that comes and goes, s; none: the kind's own.
    pub cycle: Option<f64>,
}

impl Injection {
    /// The fault in words: as it was ordered, then what it does.
    #[must_use]
    pub fn words(&self) -> String {
        let entry = crate::join::fault(self).ok().map(|fault| fault.entry());
        let unit = entry
            .and_then(|entry| entry.strength)
            .map_or_else(String::new, |scale| format!(" {}", scale.unit));
        let strength = self.strength.map(|much| format!(", strength {much}{unit}"));
        let duration = self.duration.map(|long| format!(", for {long} s"));
        let cycle = self.cycle.map(|often| format!(", about every {often} s"));
        let more: String = [strength, duration, cycle].into_iter().flatten().collect();
        let does = entry.map_or_else(String::new, |entry| format!(". {}", entry.sentence()));
        format!("{}: {}{more}{does}", self.target, self.kind)
    }
}
