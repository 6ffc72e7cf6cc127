//! Lines out of bytes, none longer than a message may be.

use super::message::{MOST, Misheard};

/// Bytes that are not yet a line.
#[derive(Debug, Default)]
pub(super) struct Lines {
    held: Vec<u8>,
    /// What comes until the end of the line belongs to one that is too long.
    skipping: bool,
}

impl Lines {
    /// Takes bytes in and hands each line they end to `hear`.
    pub(super) fn feed(&mut self, bytes: &[u8], hear: &mut dyn FnMut(Result<String, Misheard>)) {
        for byte in bytes {
            if *byte == b'\n' {
                let line = std::mem::take(&mut self.held);
                if !std::mem::take(&mut self.skipping) {
                    hear(String::from_utf8(line).map_err(|_| Misheard::NoText));
                }
            } else if !self.skipping {
                self.held.push(*byte);
                if self.held.len() >= MOST {
                    self.held = Vec::new();
                    self.skipping = true;
                    hear(Err(Misheard::TooLong));
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn heard(pieces: &[&[u8]]) -> Vec<Result<String, Misheard>> {
        let mut lines = Lines::default();
        let mut heard = Vec::new();
        for piece in pieces {
            lines.feed(piece, &mut |line| heard.push(line));
        }
        heard
    }

    #[test]
    fn lines_come_whole_however_they_are_cut() {
        let whole = [Ok("one".to_owned()), Ok("two".to_owned())];
        assert_eq!(heard(&[b"one\ntwo\nthr"]), whole);
        assert_eq!(heard(&[b"o", b"ne\nt", b"wo", b"\n"]), whole);
    }

    #[test]
    fn a_line_without_end_is_refused_once_and_the_next_one_heard() {
        let long = vec![b'x'; 3 * MOST];
        let heard = heard(&[&long, b"\npause\n\xff\n"]);
        assert_eq!(
            heard,
            [
                Err(Misheard::TooLong),
                Ok("pause".to_owned()),
                Err(Misheard::NoText)
            ]
        );
    }
}
