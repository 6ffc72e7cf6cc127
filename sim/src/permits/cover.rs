//! Pairs of rows that show each condition's independent effect, in few rows.
//!
//! A pair of a condition is two rows in which only it differs, and the decision differs:
//! the unique-cause form of modified condition/decision coverage.
//!
//! Pairs of different conditions never close a ring: along a ring each condition would
//! have to change back. So `n` pairs that hang together span `n + 1` rows, and no fewer
//! rows can show the effect of `n` conditions.

use super::rows::{Row, flipped, is_proven};

/// The two rows that show one condition's effect.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pair {
    /// The row in which the condition is not proven.
    pub without: Row,
    /// The same row with it proven.
    pub with: Row,
}

/// Pairs and the rows they consist of.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Cover {
    /// The rows, each once; the one that most pairs begin from is the first.
    pub rows: Vec<Row>,
    /// The pair of each condition, by its place; none where the table has none.
    pub pairs: Vec<Option<Pair>>,
}

/// The pairs of a table of `conditions` conditions: `decides` says of each row whether it
/// permits, `possible` whether it can come about. Pairs of possible rows come first; only
/// a condition without one has a pair of others.
#[must_use]
pub fn cover(conditions: usize, decides: &[bool], possible: &[bool]) -> Cover {
    let mut cover = Cover {
        rows: Vec::new(),
        pairs: vec![None; conditions],
    };
    let any = vec![true; possible.len()];
    let starts = starts(decides);
    for allowed in [possible, &any] {
        let grown = cover.clone().grow(decides, allowed);
        if grown.shown() > cover.shown() {
            cover = grown;
        }
        while let Some(more) = best(&cover, &starts, decides, allowed) {
            cover = more;
        }
    }
    cover
}

/// Rows to begin from: those that permit before the others, of these the ones with the
/// most proven first, so that a reader meets what is well before what is wrong.
fn starts(decides: &[bool]) -> Vec<Row> {
    let mut starts: Vec<Row> = (0..decides.len()).collect();
    starts.sort_by_key(|row| (!decides[*row], std::cmp::Reverse(row.count_ones()), *row));
    starts
}

/// The cover with one more group of rows, begun where it shows the most.
fn best(cover: &Cover, starts: &[Row], decides: &[bool], allowed: &[bool]) -> Option<Cover> {
    let mut best: Option<Cover> = None;
    for start in starts.iter().copied().filter(|row| allowed[*row]) {
        let mut begun = cover.clone();
        if !begun.rows.contains(&start) {
            begun.rows.push(start);
        }
        let grown = begun.grow(decides, allowed);
        let most = best.as_ref().map_or(cover.shown(), Cover::shown);
        if grown.shown() > most {
            best = Some(grown);
        }
    }
    best
}

impl Cover {
    /// How many conditions have their pair.
    #[must_use]
    pub fn shown(&self) -> usize {
        self.pairs.iter().flatten().count()
    }

    /// Adds every pair that one more row makes with one that is there, until none does.
    fn grow(mut self, decides: &[bool], allowed: &[bool]) -> Self {
        loop {
            let before = self.shown();
            for index in 0..self.pairs.len() {
                if self.pairs[index].is_some() {
                    continue;
                }
                let found = self.rows.iter().copied().find(|row| {
                    let other = flipped(*row, index);
                    allowed[*row] && allowed[other] && decides[*row] != decides[other]
                });
                if let Some(row) = found {
                    self.add(row, index);
                }
            }
            if self.shown() == before {
                return self;
            }
        }
    }

    fn add(&mut self, row: Row, index: usize) {
        let other = flipped(row, index);
        if !self.rows.contains(&other) {
            self.rows.push(other);
        }
        let (without, with) = if is_proven(row, index) {
            (other, row)
        } else {
            (row, other)
        };
        self.pairs[index] = Some(Pair { without, with });
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn table(conditions: usize, decide: impl Fn(Row) -> bool) -> Cover {
        let decides: Vec<bool> = (0..1 << conditions).map(decide).collect();
        cover(conditions, &decides, &vec![true; decides.len()])
    }

    #[test]
    fn of_a_and_either_b_or_c_four_rows_show_all() {
        let cover = table(3, |row| {
            is_proven(row, 0) && (is_proven(row, 1) || is_proven(row, 2))
        });
        assert_eq!((cover.shown(), cover.rows.len()), (3, 4));
        // b counts only while c does not hold.
        let b = cover.pairs[1].expect("a pair of b");
        assert_eq!((b.without, b.with), (0b001, 0b011));
    }

    #[test]
    fn a_condition_that_another_swallows_has_no_pair() {
        // a, or a and b: b never matters.
        let cover = table(2, |row| {
            is_proven(row, 0) || is_proven(row, 0) && is_proven(row, 1)
        });
        assert!(cover.pairs[0].is_some());
        assert_eq!(cover.pairs[1], None);
    }

    #[test]
    fn a_row_that_cannot_come_about_is_used_only_where_nothing_else_shows() {
        // a and b, where a brings b.
        let decides = [false, false, false, true];
        let possible = [true, false, true, true];
        let cover = cover(2, &decides, &possible);
        assert_eq!(
            cover.pairs,
            [
                Some(Pair {
                    without: 2,
                    with: 3
                }),
                Some(Pair {
                    without: 1,
                    with: 3
                })
            ]
        );
    }

    #[test]
    fn a_constant_decision_shows_nothing() {
        assert_eq!(table(3, |_| true).shown(), 0);
        assert!(table(3, |_| true).rows.is_empty());
    }
}
