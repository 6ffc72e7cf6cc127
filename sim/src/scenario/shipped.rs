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

shipped!["emergency-stow",];

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
