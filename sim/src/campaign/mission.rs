//! The base missions: short faultless flights that together pass every state of the
//! controller.

use crate::scenario::Scenario;
use crate::scenario::problem::Problem;

/// A base mission: its name and its text.
#[derive(Clone, Copy, Debug)]
pub struct Mission {
    /// The name its cells begin with.
    pub name: &'static str,
    /// Its text, as in `docs/missions`.
    pub text: &'static str,
}

macro_rules! missions {
    ($($name:literal),+ $(,)?) => {
        /// Every base mission.
        pub const MISSIONS: &[Mission] = &[
            $(Mission {
                name: $name,
                text: include_str!(concat!("../../../docs/missions/", $name, ".toml")),
            }),+
        ];
    };
}

missions![
    "ground-cycle",
    "stop-in-flight",
    "opposed-deploy",
    "opposed-stow",
    "warm-climb",
    "woken-half-way",
    "bench-work",
    "charge-on-tow",
];

impl Mission {
    /// The mission as a scenario.
    ///
    /// # Errors
    /// What is wrong with its file.
    pub fn scenario(&self) -> Result<Scenario, Problem> {
        Scenario::parse(&format!("docs/missions/{}.toml", self.name), self.text)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_mission_is_in_order_without_faults_and_marked_as_invented() {
        for mission in MISSIONS {
            let scenario = mission
                .scenario()
                .unwrap_or_else(|problem| panic!("{:?}", miette::Report::new(problem)));
            assert!(scenario.faults.is_empty(), "{}", mission.name);
            assert!(
                scenario.briefing.starts_with("Invented base mission;"),
                "{}",
                mission.name
            );
        }
    }

    #[test]
    fn every_file_of_the_directory_is_a_mission() {
        let directory = concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/missions");
        for file in std::fs::read_dir(directory).expect("the directory of the missions") {
            let path = file.expect("an entry").path();
            let name = path.file_stem().and_then(|stem| stem.to_str());
            assert!(
                MISSIONS.iter().any(|mission| Some(mission.name) == name),
                "{name:?} is missing from the table"
            );
        }
    }
}
