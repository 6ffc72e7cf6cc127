//! A key with what is held down beside it, and its name.

use std::fmt;
use std::str::FromStr;

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

/// A key and its modifiers. A letter's case says whether Shift was held.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Chord {
    code: KeyCode,
    modifiers: KeyModifiers,
}

/// The keys that have names; every other is written as its own character.
const NAMED: &[(&str, KeyCode)] = &[
    ("Space", KeyCode::Char(' ')),
    ("Enter", KeyCode::Enter),
    ("Esc", KeyCode::Esc),
    ("Tab", KeyCode::Tab),
    ("Backspace", KeyCode::Backspace),
    ("Delete", KeyCode::Delete),
    ("Insert", KeyCode::Insert),
    ("Up", KeyCode::Up),
    ("Down", KeyCode::Down),
    ("Left", KeyCode::Left),
    ("Right", KeyCode::Right),
    ("Home", KeyCode::Home),
    ("End", KeyCode::End),
    ("PageUp", KeyCode::PageUp),
    ("PageDown", KeyCode::PageDown),
    ("F1", KeyCode::F(1)),
    ("F2", KeyCode::F(2)),
    ("F3", KeyCode::F(3)),
    ("F4", KeyCode::F(4)),
    ("F5", KeyCode::F(5)),
    ("F6", KeyCode::F(6)),
    ("F7", KeyCode::F(7)),
    ("F8", KeyCode::F(8)),
    ("F9", KeyCode::F(9)),
    ("F10", KeyCode::F(10)),
    ("F11", KeyCode::F(11)),
    ("F12", KeyCode::F(12)),
];

const MODIFIERS: [(&str, KeyModifiers); 3] = [
    ("Ctrl+", KeyModifiers::CONTROL),
    ("Alt+", KeyModifiers::ALT),
    ("Shift+", KeyModifiers::SHIFT),
];

impl Chord {
    /// The chord of a key press.
    #[must_use]
    pub fn of(event: &KeyEvent) -> Self {
        let known = KeyModifiers::CONTROL | KeyModifiers::ALT | KeyModifiers::SHIFT;
        let modifiers = event.modifiers & known;
        if let KeyCode::Char(letter) = event.code {
            return Self {
                code: KeyCode::Char(letter),
                modifiers: modifiers - KeyModifiers::SHIFT,
            };
        }
        if event.code == KeyCode::BackTab {
            return Self {
                code: KeyCode::Tab,
                modifiers: modifiers | KeyModifiers::SHIFT,
            };
        }
        Self {
            code: event.code,
            modifiers,
        }
    }

    /// The press of this chord.
    #[must_use]
    pub const fn event(self) -> KeyEvent {
        KeyEvent::new(self.code, self.modifiers)
    }

    /// The character typed, if nothing but Shift is held.
    #[must_use]
    pub fn typed(self) -> Option<char> {
        self.code.as_char().filter(|_| self.modifiers.is_empty())
    }

    /// The names of keys that are not characters.
    pub(super) fn names() -> impl Iterator<Item = &'static str> {
        NAMED.iter().map(|(name, _)| *name)
    }
}

impl fmt::Display for Chord {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (name, modifier) in MODIFIERS {
            if self.modifiers.contains(modifier) {
                f.write_str(name)?;
            }
        }
        if let Some((name, _)) = NAMED.iter().find(|(_, code)| *code == self.code) {
            return f.write_str(name);
        }
        match self.code.as_char() {
            Some(letter) => write!(f, "{letter}"),
            None => write!(f, "{:?}", self.code),
        }
    }
}

/// A key that is not known.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("no key is called `{0}`")]
pub struct NoSuchKey(pub(super) String);

impl FromStr for Chord {
    type Err = NoSuchKey;

    fn from_str(text: &str) -> Result<Self, NoSuchKey> {
        let mut rest = text;
        let mut modifiers = KeyModifiers::empty();
        for (name, modifier) in MODIFIERS {
            if let Some(after) = rest.strip_prefix(name)
                && !after.is_empty()
            {
                rest = after;
                modifiers |= modifier;
            }
        }
        let named = NAMED.iter().find(|(name, _)| *name == rest);
        let code = match (named, rest.chars().next()) {
            (Some((_, code)), _) => *code,
            (None, Some(only)) if rest.chars().count() == 1 && !only.is_control() => {
                // A character says by itself whether Shift is held.
                if modifiers.contains(KeyModifiers::SHIFT) {
                    return Err(NoSuchKey(text.to_owned()));
                }
                KeyCode::Char(only)
            }
            (None, Some(_) | None) => return Err(NoSuchKey(text.to_owned())),
        };
        Ok(Self { code, modifiers })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn press(code: KeyCode, modifiers: KeyModifiers) -> Chord {
        Chord::of(&KeyEvent::new(code, modifiers))
    }

    #[test]
    fn a_press_and_its_name_are_the_same_chord() {
        for (name, chord) in [
            ("q", press(KeyCode::Char('q'), KeyModifiers::NONE)),
            ("Q", press(KeyCode::Char('Q'), KeyModifiers::SHIFT)),
            ("?", press(KeyCode::Char('?'), KeyModifiers::SHIFT)),
            ("Space", press(KeyCode::Char(' '), KeyModifiers::NONE)),
            ("Ctrl+c", press(KeyCode::Char('c'), KeyModifiers::CONTROL)),
            ("Shift+Left", press(KeyCode::Left, KeyModifiers::SHIFT)),
            ("Shift+Tab", press(KeyCode::BackTab, KeyModifiers::SHIFT)),
            ("+", press(KeyCode::Char('+'), KeyModifiers::NONE)),
        ] {
            assert_eq!(name.parse(), Ok(chord));
            assert_eq!(chord.to_string(), name);
        }
    }

    #[test]
    fn a_name_that_is_no_key_is_refused() {
        for name in ["", "Ctrl+", "qq", "Shift+q", "F13", "\n"] {
            assert!(name.parse::<Chord>().is_err(), "{name}");
        }
    }
}
