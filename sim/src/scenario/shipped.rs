//! The scenarios that come with the program, so that they run anywhere.

/// A shipped scenario: its name and its text.
#[derive(Clone, Copy, Debug)]
pub struct Shipped {
    /// The name it is run by.
    pub name: &'static str,
    /// Its text, as in `docs/scenarios`.
    pub text: &'static str,
}

macro_rules! shipped {
    ($($name:literal),+ $(,)?) => {
        /// Every shipped scenario, the demonstration first.
        pub const SHIPPED: &[Shipped] = &[
            $(Shipped {
                name: $name,
                text: include_str!(concat!("../../../docs/scenarios/", $name, ".toml")),
            }),+
        ];
    };
}

shipped![
    "emergency-stow",
    "normal-flight",
    "long-climb",
    "restart-in-flight",
    "parking-sensor-fails",
    "mast-jams",
    "pack-drops-out",
    "brown-out-mid-move",
    "fans-fail-on-take-off",
    "opposing-intention",
    "bench-maintenance",
    "welded-contactor",
    "heat-test-and-real-heat",
    "aero-tow-aux-charge",
    "throttle-left-open",
    "stop-switch-contact-fails",
    "door-jams",
    "insulation-low",
];

impl Shipped {
    /// The shipped scenario of this name.
    #[must_use]
    pub fn named(name: &str) -> Option<&'static Self> {
        SHIPPED.iter().find(|shipped| shipped.name == name)
    }

    /// The name of its file, for messages.
    #[must_use]
    pub fn file(&self) -> String {
        format!("docs/scenarios/{}.toml", self.name)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Scenario;

    #[test]
    fn every_shipped_scenario_is_in_order_and_marked_as_invented() {
        for shipped in SHIPPED {
            let scenario = Scenario::parse(&shipped.file(), shipped.text)
                .unwrap_or_else(|problem| panic!("{:?}", miette::Report::new(problem)));
            assert_eq!(scenario.name, shipped.name);
            assert!(
                scenario.briefing.starts_with("Invented demonstration;"),
                "{}",
                shipped.name
            );
            let expect = &scenario.expect;
            assert!(
                !expect.ends_in.is_empty() || expect.halt.is_some(),
                "{}",
                shipped.name
            );
        }
    }

    #[test]
    fn every_file_of_the_directory_is_shipped() {
        let directory = concat!(env!("CARGO_MANIFEST_DIR"), "/../docs/scenarios");
        for file in std::fs::read_dir(directory).expect("the directory of the scenarios") {
            let path = file.expect("an entry").path();
            let name = path
                .file_stem()
                .and_then(|stem| stem.to_str())
                .expect("a plain name");
            assert!(
                Shipped::named(name).is_some(),
                "{name} is missing from the table"
            );
        }
    }
}
