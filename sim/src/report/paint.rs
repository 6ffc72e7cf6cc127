//! Colour, where it helps: never the only carrier of a meaning.

use std::io::IsTerminal;

/// What a piece of text is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    /// Nothing special.
    Plain,
    /// A change of phase, a heading.
    Strong,
    /// A warning, something broken. Red, as in 14 CFR 23.1322 (1999; read).
    Warning,
    /// A caution. Amber, likewise.
    Caution,
    /// Something that held. Green, likewise.
    Safe,
}

/// `NO_COLOR` is set and not empty, as its convention has it (no-color.org, from memory).
#[must_use]
pub fn no_colour() -> bool {
    std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty())
}

/// Whether text is coloured.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Paint {
    colours: bool,
}

impl Paint {
    /// Colours, or none.
    #[must_use]
    pub const fn new(colours: bool) -> Self {
        Self { colours }
    }

    /// Colours if standard output is a terminal and `NO_COLOR` is not set.
    #[must_use]
    pub fn of_stdout() -> Self {
        Self::new(std::io::stdout().is_terminal() && !no_colour())
    }

    /// `text` in its tone.
    #[must_use]
    pub fn tint(self, tone: Tone, text: &str) -> String {
        let code = match tone {
            Tone::Plain => return text.to_owned(),
            Tone::Strong => "1",
            Tone::Warning => "1;31",
            Tone::Caution => "33",
            Tone::Safe => "32",
        };
        if self.colours {
            format!("\x1b[{code}m{text}\x1b[0m")
        } else {
            text.to_owned()
        }
    }
}
