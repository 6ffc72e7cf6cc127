//! Reading short sentences: the common ground of moments and deeds.
//!
//! A sentence is words, numbers with their units, and a few signs. A reader that
//! meets something else says where, and what it would have taken.

use std::ops::Range;

/// Why a sentence was not understood.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Misread {
    /// Bytes of the sentence at which understanding ended.
    pub at: Range<usize>,
    /// What was found there; empty at the end.
    pub found: String,
    /// What would have been understood there.
    pub expected: String,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    Word,
    Number(f64),
    Sign,
}

#[derive(Clone, Debug)]
struct Token {
    kind: Kind,
    at: Range<usize>,
}

/// A sentence being read, word by word.
pub(crate) struct Sentence<'a> {
    text: &'a str,
    tokens: Vec<Token>,
    next: usize,
}

impl<'a> Sentence<'a> {
    pub(crate) fn new(text: &'a str) -> Result<Self, Misread> {
        let mut tokens = Vec::new();
        let mut at = 0;
        while let Some(first) = text[at..].chars().next() {
            let rest = &text[at..];
            let (length, kind) = if first.is_whitespace() {
                at += first.len_utf8();
                continue;
            } else if first.is_ascii_alphabetic() {
                let part_of_word = |c: char| !(c.is_ascii_alphanumeric() || "-_/".contains(c));
                (rest.find(part_of_word).unwrap_or(rest.len()), Kind::Word)
            } else if first.is_ascii_digit() || first == '-' || first == '.' {
                let length = 1 + rest[1..]
                    .find(|c: char| !(c.is_ascii_digit() || c == '.'))
                    .unwrap_or(rest.len() - 1);
                let Ok(number) = rest[..length].parse() else {
                    return Err(misread(text, at..at + length, "a number"));
                };
                (length, Kind::Number(number))
            } else if rest.starts_with("<=") || rest.starts_with(">=") {
                (2, Kind::Sign)
            } else if "<>%".contains(first) {
                (1, Kind::Sign)
            } else {
                let expected = "a word, a number, or one of < > <= >= %";
                return Err(misread(text, at..at + first.len_utf8(), expected));
            };
            tokens.push(Token {
                kind,
                at: at..at + length,
            });
            at += length;
        }
        Ok(Self {
            text,
            tokens,
            next: 0,
        })
    }

    /// The next word or sign, as written, without taking it.
    pub(crate) fn peek(&self) -> &'a str {
        self.tokens
            .get(self.next)
            .map_or("", |token| &self.text[token.at.clone()])
    }

    pub(crate) fn at_end(&self) -> bool {
        self.next >= self.tokens.len()
    }

    /// Takes `phrase`, word by word, if all of it comes next.
    pub(crate) fn accept(&mut self, phrase: &str) -> bool {
        let start = self.next;
        for word in phrase.split(' ') {
            if self.peek() != word {
                self.next = start;
                return false;
            }
            self.next += 1;
        }
        true
    }

    pub(crate) fn expect(&mut self, phrase: &str) -> Result<(), Misread> {
        if self.accept(phrase) {
            Ok(())
        } else {
            Err(self.misread(&format!("`{phrase}`")))
        }
    }

    /// Takes the next word and turns it into a value by its name.
    pub(crate) fn name<T>(
        &mut self,
        expected: &str,
        find: impl FnOnce(&str) -> Option<T>,
    ) -> Result<T, Misread> {
        let Some(value) = find(self.peek()) else {
            return Err(self.misread(expected));
        };
        self.next += 1;
        Ok(value)
    }

    pub(crate) fn number(&mut self, expected: &str) -> Result<f64, Misread> {
        match self.tokens.get(self.next).map(|token| token.kind) {
            Some(Kind::Number(number)) => {
                self.next += 1;
                Ok(number)
            }
            Some(Kind::Word | Kind::Sign) | None => Err(self.misread(expected)),
        }
    }

    /// A number followed by its unit, within `range`.
    pub(crate) fn measure(&mut self, unit: &str, range: Range<f64>) -> Result<f64, Misread> {
        let bounds = format!("a number from {} to {} {unit}", range.start, range.end);
        let before = self.next;
        let number = self.number(&bounds)?;
        if number < range.start || number > range.end {
            self.next = before;
            return Err(self.misread(&bounds));
        }
        self.expect(unit)?;
        Ok(number)
    }

    /// `for N s`, if it comes next; the duration in s.
    pub(crate) fn span_of_time(&mut self, word: &str) -> Result<Option<f64>, Misread> {
        if self.accept(word) {
            self.measure("s", 0.0..super::LONGEST).map(Some)
        } else {
            Ok(None)
        }
    }

    pub(crate) fn finish(&self, expected: &str) -> Result<(), Misread> {
        if self.at_end() {
            Ok(())
        } else {
            Err(self.misread(expected))
        }
    }

    pub(crate) fn misread(&self, expected: &str) -> Misread {
        let end = self.text.len();
        let at = self
            .tokens
            .get(self.next)
            .map_or(end..end, |token| token.at.clone());
        misread(self.text, at, expected)
    }
}

fn misread(text: &str, at: Range<usize>, expected: &str) -> Misread {
    Misread {
        found: text[at.clone()].to_owned(),
        at,
        expected: expected.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_numbers_and_signs_are_told_apart() {
        let mut sentence = Sentence::new("airspeed >= 12.5 m/s").unwrap();
        assert!(sentence.accept("airspeed >="));
        assert_eq!(sentence.measure("m/s", 0.0..100.0), Ok(12.5));
        assert!(sentence.at_end());
    }

    #[test]
    fn a_phrase_that_does_not_come_whole_is_not_taken_at_all() {
        let mut sentence = Sentence::new("bench key on").unwrap();
        assert!(!sentence.accept("bench door"));
        assert!(sentence.accept("bench key"));
    }

    #[test]
    fn a_number_out_of_range_is_refused_at_its_place() {
        let mut sentence = Sentence::new("140 %").unwrap();
        let misread = sentence.measure("%", 0.0..100.0).unwrap_err();
        assert_eq!(misread.at, 0..3);
        assert_eq!(misread.expected, "a number from 0 to 100 %");
    }

    #[test]
    fn a_strange_sign_is_refused_where_it_stands() {
        assert_eq!(Sentence::new("mast ? 3").map(|_| ()).unwrap_err().at, 5..6);
        assert_eq!(Sentence::new("mast é").map(|_| ()).unwrap_err().found, "é");
        assert_eq!(
            Sentence::new("1.2.3 s").map(|_| ()).unwrap_err().expected,
            "a number"
        );
    }
}
