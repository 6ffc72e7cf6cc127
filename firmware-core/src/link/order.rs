//! Whether a frame follows the one before.

use super::message::Trouble;

/// The numbers of the frames that have come in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[cfg_attr(feature = "defmt", derive(defmt::Format))]
pub struct Order {
    last: Option<u16>,
}

impl Order {
    /// Counts from this number on, whatever came before.
    pub const fn begin(&mut self, number: u16) {
        self.last = Some(number);
    }

    /// The number of the latest frame taken; zero before the first.
    #[must_use]
    pub fn last(&self) -> u16 {
        self.last.unwrap_or(0)
    }

    /// Takes the next frame's number. Numbers wrap: one ahead by less than half of
    /// their range has left some out, any other comes late.
    ///
    /// # Errors
    /// It does not follow the one before; the order stays as it was. Before the first
    /// [`Order::begin`] no number follows.
    pub fn follow(&mut self, number: u16) -> Result<(), Trouble> {
        let last = self.last.ok_or(Trouble::Unmet)?;
        match number.wrapping_sub(last) {
            0 => Err(Trouble::Repeated),
            1 => {
                self.last = Some(number);
                Ok(())
            }
            ahead @ 2..0x8000 => Err(Trouble::Lost(ahead.saturating_sub(1))),
            0x8000.. => Err(Trouble::Late),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_number_follows_repeats_leaves_out_or_comes_late_across_the_wrap() {
        for last in [0, 1, 0x7fff, 0x8000, u16::MAX] {
            let mut order = Order::default();
            order.begin(last);
            for (ahead, expected) in [
                (0, Err(Trouble::Repeated)),
                (2, Err(Trouble::Lost(1))),
                (0x7fff, Err(Trouble::Lost(0x7ffe))),
                (0x8000, Err(Trouble::Late)),
                (u16::MAX, Err(Trouble::Late)),
                (1, Ok(())),
            ] {
                assert_eq!(order.follow(last.wrapping_add(ahead)), expected, "{last}");
            }
            assert_eq!(order.last(), last.wrapping_add(1));
        }
    }

    #[test]
    fn before_a_greeting_no_number_follows() {
        assert_eq!(Order::default().follow(1), Err(Trouble::Unmet));
    }
}
