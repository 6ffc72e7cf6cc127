//! Colours and signs of the screen. No meaning rests on colour alone: every style that
//! means something stands with a word or a sign.
//!
//! Red for warnings and amber for cautions, and neither for anything else: 14 CFR
//! 23.1322 (1999) and 25.1322 (both used as models; read). The other colours, blue,
//! cyan and white, are told apart from those two and from one another in the common
//! forms of colour blindness by lightness as well as hue (common practice, no source).
//! Green is left out: beside red it is the pair most often confused.

use ratatui::style::{Color, Modifier, Style};

/// What a piece of the picture means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Tone {
    /// Ordinary text.
    Plain,
    /// A heading, the name of a state.
    Strong,
    /// Frames, scales, what can be overlooked.
    Faint,
    /// An alert of the class warning, something broken.
    Warning,
    /// An alert of the class caution.
    Caution,
    /// An alert of the class advisory.
    Advisory,
    /// Something proven, held or permitted.
    Good,
    /// Something that moves or is driven now.
    Live,
    /// What can be chosen or clicked, chosen now.
    Chosen,
    /// Plant and controller differ.
    Differs,
    /// A reading that is not heard.
    Unheard,
}

/// With which characters drawings are made.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Glyphs {
    /// Braille dots: the finest.
    #[default]
    Braille,
    /// Half blocks, where a font has no braille.
    Blocks,
    /// Letters and punctuation only.
    Ascii,
}

/// How the screen looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Theme {
    colours: bool,
    /// With which characters drawings are made.
    pub glyphs: Glyphs,
}

impl Theme {
    /// With colours.
    #[must_use]
    pub const fn colour() -> Self {
        Self {
            colours: true,
            glyphs: Glyphs::Braille,
        }
    }

    /// Without any colour: bold, underlined and reversed text instead. For `NO_COLOR`.
    #[must_use]
    pub const fn mono() -> Self {
        Self {
            colours: false,
            glyphs: Glyphs::Braille,
        }
    }

    /// The same, drawn with other characters.
    #[must_use]
    pub const fn with(self, glyphs: Glyphs) -> Self {
        Self { glyphs, ..self }
    }

    /// The style of a tone.
    #[must_use]
    pub fn style(self, tone: Tone) -> Style {
        let plain = Style::new();
        let (colour, modifier) = match tone {
            Tone::Unheard => (
                Some(Color::LightMagenta),
                Modifier::BOLD.union(Modifier::UNDERLINED),
            ),
            Tone::Plain => (None, Modifier::empty()),
            Tone::Strong => (None, Modifier::BOLD),
            Tone::Faint => (Some(Color::DarkGray), Modifier::DIM),
            Tone::Warning => (Some(Color::Red), Modifier::BOLD.union(Modifier::REVERSED)),
            Tone::Caution => (Some(AMBER), Modifier::BOLD),
            Tone::Advisory => (Some(Color::White), Modifier::UNDERLINED),
            Tone::Good => (Some(Color::Cyan), Modifier::empty()),
            Tone::Live => (Some(Color::LightBlue), Modifier::BOLD),
            Tone::Chosen => (None, Modifier::REVERSED),
            Tone::Differs => (
                Some(Color::LightMagenta),
                Modifier::BOLD.union(Modifier::REVERSED),
            ),
        };
        let plain = plain.add_modifier(modifier);
        match colour {
            // Dim and grey together would be too faint to read.
            Some(colour) if self.colours && tone == Tone::Faint => Style::new().fg(colour),
            Some(colour) if self.colours => plain.fg(colour),
            Some(_) | None => plain,
        }
    }
}

/// Amber, from the 256 colours most terminals have.
pub const AMBER: Color = Color::Indexed(214);
