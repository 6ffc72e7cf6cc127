//! From ticks to blocks: the work that is done beside the flight.

use enumset::{EnumSet, EnumSetType};
use mastwright_core::outputs::Outputs;

use super::BLOCK;
use super::block::{Block, Kind};
use super::columns::{
    ANSWERS, EVENTS, Links, MARKS, TABLES, TICKS, Visitor, answer, event, mark, row, tables,
};
use super::named::{Named, bits};
use super::pack::pack;
use super::sample::Sample;
use super::sum::Fingerprints;
use super::tick::Mark;

/// A table that grows: its columns one after another, each with room for `room` rows.
#[derive(Debug)]
struct Table {
    values: Vec<i32>,
    columns: usize,
    room: usize,
    rows: usize,
}

/// Columns begin so many numbers apart beyond their length, so that the rows of a table
/// do not all fall on the same lines of a processor's cache.
const APART: usize = 16;

impl Table {
    fn new(columns: usize, rows: usize) -> Self {
        let room = rows + APART;
        Self {
            values: vec![0; columns * room],
            columns,
            room,
            rows: 0,
        }
    }

    /// The next row; what is led over it is kept.
    fn keep(&mut self) -> Keep<'_> {
        if self.rows + APART >= self.room {
            self.grow();
        }
        let row = self.rows;
        self.rows += 1;
        Keep {
            values: &mut self.values[row..],
            room: self.room,
            next: 0,
        }
    }

    /// Makes room for twice as many rows.
    fn grow(&mut self) {
        let mut grown = Self::new(self.columns, 2 * self.room);
        for column in 0..self.columns {
            let (from, to) = (column * self.room, column * grown.room);
            grown.values[to..to + self.rows].copy_from_slice(&self.values[from..from + self.rows]);
        }
        grown.rows = self.rows;
        *self = grown;
    }

    /// Adds its bytes to `to` and empties it.
    fn pack(&mut self, to: &mut Vec<u8>) {
        let count = |count: usize| u32::try_from(count).expect("tables are small");
        to.extend_from_slice(&count(self.rows).to_le_bytes());
        to.extend_from_slice(&count(self.columns).to_le_bytes());
        if self.rows > 0 {
            for column in self.values.chunks(self.room) {
                pack(&column[..self.rows], to);
            }
        }
        self.rows = 0;
    }
}

/// Keeps a row.
struct Keep<'a> {
    values: &'a mut [i32],
    room: usize,
    next: usize,
}

impl Visitor for Keep<'_> {
    const GIVES: bool = false;

    #[inline]
    fn number(&mut self, _: &'static str, value: i32) -> i32 {
        self.values[self.next] = value;
        self.next += self.room;
        value
    }

    #[inline]
    fn choice<T: Named>(&mut self, name: &'static str, value: T) -> T {
        self.number(name, value.place());
        value
    }

    #[inline]
    fn set<T: Named + EnumSetType>(
        &mut self,
        names: [&'static str; 2],
        value: EnumSet<T>,
    ) -> EnumSet<T> {
        let bits = bits(value);
        #[expect(clippy::cast_possible_truncation, reason = "each half is meant")]
        let halves = [bits as u32, (bits >> 32) as u32];
        self.number(names[0], halves[0].cast_signed());
        self.number(names[1], halves[1].cast_signed());
        value
    }
}

/// Gathers ticks into blocks.
#[derive(Debug)]
pub(super) struct Encoder {
    tables: [Table; TABLES],
    /// Tick of the first row.
    first: u32,
    answered: Option<Outputs>,
    fingerprints: Fingerprints,
    packed: Vec<u8>,
}

impl Encoder {
    /// With nothing in it.
    pub(super) fn new() -> Self {
        let columns = tables();
        let table = |table: usize, rows| Table::new(columns[table].len(), rows);
        Self {
            tables: [
                table(TICKS, BLOCK),
                table(ANSWERS, BLOCK),
                table(EVENTS, APART),
                table(MARKS, APART),
            ],
            first: 0,
            answered: None,
            fingerprints: Fingerprints::new(),
            packed: Vec::new(),
        }
    }

    /// How many ticks it holds.
    pub(super) const fn len(&self) -> usize {
        self.tables[TICKS].rows
    }

    /// Adds a tick, which it leaves as it is; with its outputs, if their lists are not empty.
    pub(super) fn tick(&mut self, sample: &mut Sample, listing: Option<Outputs>) {
        if self.len() == 0 {
            self.first = u32::try_from(sample.tick).unwrap_or(u32::MAX);
            self.answered = None;
        }
        let same = self.answered.as_ref().is_some_and(|answered| {
            let listed = listing.as_ref();
            listed.map_or_else(|| sample.answers(answered), |outputs| answered == outputs)
        });
        if !same {
            self.answer(listing.unwrap_or_else(|| sample.outputs()));
        }
        let mut links = Links {
            state: self.fingerprints.of(&sample.sequencer),
            answer: self.answers() - 1,
        };
        row(&mut self.tables[TICKS].keep(), sample.row(), &mut links);
    }

    /// Adds something that began or ended in the tick added last.
    pub(super) fn mark(&mut self, tick: u32, what: Mark) {
        let (kind, number) = what.parts();
        let within = tick - self.first;
        let parts = [within.cast_signed(), kind, number.cast_signed()];
        mark(&mut self.tables[MARKS].keep(), parts);
    }

    fn answers(&self) -> u32 {
        u32::try_from(self.tables[ANSWERS].rows).expect("a block is short")
    }

    fn answer(&mut self, mut outputs: Outputs) {
        let number = self.answers();
        answer(&mut self.tables[ANSWERS].keep(), &mut outputs);
        for happened in &outputs.events {
            event(
                &mut self.tables[EVENTS].keep(),
                number.cast_signed(),
                *happened,
            );
        }
        self.answered = Some(outputs);
    }

    /// The block of everything added since the last one.
    pub(super) fn block(&mut self) -> Vec<u8> {
        let ticks = u32::try_from(self.len()).expect("a block is short");
        self.packed.clear();
        for table in &mut self.tables {
            table.pack(&mut self.packed);
        }
        let payload = lz4_flex::compress_prepend_size(&self.packed);
        Block {
            kind: Kind::Ticks,
            first: self.first,
            ticks,
            payload: &payload,
        }
        .bytes()
    }
}

#[cfg(test)]
mod tests {
    use super::super::decode::{Layout, Ticks, Undecoded};
    use super::super::header::Header;
    use super::*;
    use crate::scenario::Scenario;
    use crate::scenario::shipped::Shipped;

    /// What reading a block says in which one number of its first answer, or of the event
    /// of it, is another.
    fn read_with(table: usize, column: &str, number: i32) -> Result<(), Undecoded> {
        let shipped = Shipped::named("normal-flight").expect("shipped");
        let scenario = Scenario::parse("test", shipped.text).expect("a scenario");
        let header = Header::new(&scenario, 1, "a test");
        let mut outputs = Outputs::default();
        outputs.emit(mastwright_core::outputs::Event::Acknowledged);
        let mut encoder = Encoder::new();
        encoder.tick(&mut Sample::default(), Some(outputs));
        let place = tables()[table].iter().position(|name| name == column);
        let table = &mut encoder.tables[table];
        table.values[place.expect("a column") * table.room] = number;
        let bytes = encoder.block();
        let block = Block::read(&bytes).expect("whole");
        Ticks::read(&Layout::of(&header), block.first, block.payload).map(drop)
    }

    #[test]
    fn a_number_that_stands_for_nothing_known_is_told_with_its_column() {
        let cases = [
            (ANSWERS, "motor", "motor", 0),
            (ANSWERS, "mast drive", "mast drive", 0),
            (ANSWERS, "door drive", "door drive", 0),
            (ANSWERS, "mode: mode", "mode", 0),
            (ANSWERS, "faults.high: set of fault", "fault", 0),
            (EVENTS, "event", "event", 6),
            (EVENTS, "bus stage: bus stage", "bus stage", 0),
        ];
        for (table, column, list, sound) in cases {
            assert_eq!(read_with(table, column, sound), Ok(()), "{column}");
            let told = read_with(table, column, i32::MIN);
            assert!(
                matches!(&told, Err(Undecoded::Unknown { list: named, .. }) if *named == list),
                "{column}: {told:?}"
            );
        }
    }
}
