//! The scenarios that come with the program, so that they run anywhere.

/// A shipped scenario: its name and its text.
#[derive(Clone, Copy, Debug)]
pub struct Shipped {
    /// The name it is run by.
    pub name: &'static str,
    /// Its text, as in its file.
    pub text: &'static str,
    /// The directory of its file, from the top.
    directory: &'static str,
}

macro_rules! shipped {
    ($(#[$doc:meta])* $table:ident, $directory:literal: $($name:literal),+ $(,)?) => {
        $(#[$doc])*
        pub const $table: &[Shipped] = &[
            $(Shipped {
                name: $name,
                text: include_str!(concat!("../../../", $directory, "/", $name, ".toml")),
                directory: $directory,
            }),+
        ];
    };
}

shipped![
    /// Every shipped scenario, the demonstration first.
    SHIPPED, "docs/scenarios":
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

shipped![
    /// The shipped lessons that are not among the scenarios.
    LESSONS, "docs/lessons":
    "normal-cycle",
    "pre-flight-checks",
    "aero-tow-pack-check",
    "fans-failed",
    "stop-contact-fails",
    "parking-fails",
    "drive-jams",
    "opposing-orders",
    "power-lost-half-way",
];

/// Everything shipped that can be flown by its name.
pub fn all() -> impl Iterator<Item = &'static Shipped> {
    SHIPPED.iter().chain(LESSONS)
}

/// Everything shipped with a `[lesson]` section: the demonstration too is a lesson.
pub fn with_lessons() -> impl Iterator<Item = &'static Shipped> {
    all().filter(|shipped| shipped.text.contains("\n[lesson]\n"))
}

impl Shipped {
    /// The shipped scenario of this name.
    #[must_use]
    pub fn named(name: &str) -> Option<&'static Self> {
        all().find(|shipped| shipped.name == name)
    }

    /// The name of its file, for messages.
    #[must_use]
    pub fn file(&self) -> String {
        format!("{}/{}.toml", self.directory, self.name)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Scenario;

    #[test]
    fn every_shipped_scenario_is_in_order_and_marked_as_invented() {
        for shipped in all() {
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
        for directory in ["docs/scenarios", "docs/lessons"] {
            let place = format!("{}/../{directory}", env!("CARGO_MANIFEST_DIR"));
            for file in std::fs::read_dir(place).expect("a directory of scenarios") {
                let path = file.expect("an entry").path();
                let name = path
                    .file_stem()
                    .and_then(|stem| stem.to_str())
                    .expect("a plain name");
                assert!(
                    all().any(|one| one.name == name && one.directory == directory),
                    "{name} is missing from the table"
                );
            }
        }
    }

    #[test]
    fn no_two_have_the_same_name_and_every_lesson_has_its_section() {
        for (index, one) in all().enumerate() {
            assert!(all().skip(index + 1).all(|other| other.name != one.name));
        }
        for lesson in LESSONS {
            assert!(
                with_lessons().any(|one| one.name == lesson.name),
                "{}",
                lesson.name
            );
        }
    }
}
