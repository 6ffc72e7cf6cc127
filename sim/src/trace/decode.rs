//! From a block to its ticks.

use std::collections::BTreeMap;

use enumset::{EnumSet, EnumSetType};
use mastwright_core::outputs::{Event, Outputs};

use super::columns::{
    ANSWERS, EVENTS, Links, MARKS, Row, TABLES, TICKS, Visitor, answer, event, mark, row, tables,
    told,
};
use super::header::{Header, TABLE_NAMES, lists};
use super::named::{Named, bits, set};
use super::pack::{Shape, take, unpack};
use super::tick::{Mark, Tick};
use crate::flight::Begun;
use crate::scenario::script::CUES;

/// Most bytes a block may unpack to.
const MOST_BYTES: usize = 1 << 26;
/// Most rows and most columns of a table.
const MOST: usize = 1 << 16;
/// Most numbers of a table.
const MOST_NUMBERS: usize = 1 << 24;

/// How the columns and the names of a file stand to those of this build.
#[derive(Clone, Debug)]
pub(super) struct Layout {
    /// For each column of this build, its place in the file.
    columns: [Vec<Option<usize>>; TABLES],
    /// Columns of this build that the file does not have.
    missing: Vec<String>,
    /// For each list of names that is not as here: the place here of every name there,
    /// and the name.
    lists: BTreeMap<&'static str, Vec<(Option<usize>, String)>>,
    faults: usize,
}

impl Layout {
    /// The layout of the file with this header.
    pub(super) fn of(header: &Header) -> Self {
        let mut missing = Vec::new();
        let mut table = 0;
        let columns = tables().map(|ours| {
            let theirs = header.columns.get(TABLE_NAMES[table]);
            table += 1;
            ours.into_iter()
                .map(|name| {
                    let place = theirs?.iter().position(|column| *column == name);
                    if place.is_none() {
                        missing.push(name);
                    }
                    place
                })
                .collect()
        });
        Self {
            columns,
            missing,
            lists: differing(header),
            faults: header.scenario.faults,
        }
    }

    /// The columns of this build that the file does not have.
    pub(super) fn missing(&self) -> &[String] {
        &self.missing
    }
}

/// The lists of names that are not as here.
fn differing(header: &Header) -> BTreeMap<&'static str, Vec<(Option<usize>, String)>> {
    let ours = lists();
    let mut differing = BTreeMap::new();
    for (list, ours) in ours {
        let theirs = header.names.get(&list).cloned().unwrap_or_default();
        if theirs == ours {
            continue;
        }
        let places = theirs.into_iter().map(|name| {
            let place = ours.iter().position(|our| *our == name);
            (place, name)
        });
        if let Some(list) = LISTS.into_iter().find(|known| *known == list) {
            differing.insert(list, places.collect());
        }
    }
    differing
}

/// What the lists are called.
const LISTS: [&str; 9] = [
    <mastwright_core::interlock::Condition as Named>::LIST,
    <mastwright_core::Fault as Named>::LIST,
    <mastwright_core::Intention as Named>::LIST,
    <mastwright_core::Mode as Named>::LIST,
    <mastwright_core::interlock::Permission as Named>::LIST,
    <crate::controls::Push as Named>::LIST,
    <mastwright_core::interlock::Reason as Named>::LIST,
    <mastwright_core::bus::Stage as Named>::LIST,
    <mastwright_core::State as Named>::LIST,
];

/// Why a block of ticks cannot be read though its checksum fits.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Undecoded {
    /// It is not laid out as a block of this version is.
    Layout,
    /// It names something this build does not know.
    Unknown {
        /// Of which list.
        list: &'static str,
        /// What.
        name: String,
    },
}

/// Where the value of a column stands: at `start`, and of a column that changes so many
/// numbers on as the row says.
#[derive(Clone, Copy, Debug)]
struct Column {
    start: usize,
    /// All ones if it changes, else all zeros.
    mask: usize,
}

impl Column {
    /// A column the file does not have.
    const MISSING: Self = Self {
        start: usize::MAX,
        mask: 0,
    };
}

/// Columns begin so many numbers apart beyond their length, so that the values of a row
/// do not all fall on the same lines of a processor's cache.
const APART: usize = 16;

/// A table as it was read.
#[derive(Clone, Debug, Default)]
struct Table {
    rows: usize,
    values: Vec<i32>,
    /// The columns of this build, in its order.
    columns: Vec<Column>,
}

impl Table {
    /// Reads a table from the front of `from`; `ours` are the places in the file of the
    /// columns of this build.
    fn read(from: &mut &[u8], ours: &[Option<usize>]) -> Option<Self> {
        let rows = u32::from_le_bytes(take(from)?) as usize;
        let count = u32::from_le_bytes(take(from)?) as usize;
        if rows > MOST || count > MOST || rows * count > MOST_NUMBERS {
            return None;
        }
        let mut values = Vec::new();
        let mut theirs = Vec::new();
        for _ in 0..if rows > 0 { count } else { 0 } {
            let start = values.len();
            let mask = match unpack(from, rows, &mut values)? {
                Shape::Constant => 0,
                Shape::Each => {
                    values.resize(values.len() + APART, 0);
                    usize::MAX
                }
            };
            theirs.push(Column { start, mask });
        }
        let place = |place: &Option<usize>| place.and_then(|place| theirs.get(place)).copied();
        let columns = ours.iter().map(|our| place(our).unwrap_or(Column::MISSING));
        Some(Self {
            rows,
            columns: columns.collect(),
            values,
        })
    }
}

/// Gives back a row that was kept.
struct Give<'a> {
    values: &'a [i32],
    columns: &'a [Column],
    lists: &'a BTreeMap<&'static str, Vec<(Option<usize>, String)>>,
    row: usize,
    next: usize,
    unknown: Option<Undecoded>,
}

impl<'a> Give<'a> {
    fn new(layout: &'a Layout, tables: &'a [Table; TABLES], table: usize, row: usize) -> Self {
        Self {
            values: &tables[table].values,
            columns: &tables[table].columns,
            lists: &layout.lists,
            row,
            next: 0,
            unknown: None,
        }
    }

    /// The variant here of a variant's place there.
    fn variant<T: Named>(&mut self, place: usize) -> Option<T> {
        if self.lists.is_empty() {
            return T::all().get(place).copied();
        }
        let Some(list) = self.lists.get(T::LIST) else {
            return T::all().get(place).copied();
        };
        let (here, name) = list.get(place)?;
        let variant = here.and_then(|here| T::all().get(here).copied());
        if variant.is_none() && self.unknown.is_none() {
            self.unknown = Some(Undecoded::Unknown {
                list: T::LIST,
                name: name.clone(),
            });
        }
        variant
    }

    fn end(self) -> Result<(), Undecoded> {
        self.unknown.map_or(Ok(()), Err)
    }
}

impl Visitor for Give<'_> {
    const GIVES: bool = true;

    #[inline]
    fn number(&mut self, _: &'static str, value: i32) -> i32 {
        let column = self.columns.get(self.next);
        let column = *column.unwrap_or(&Column::MISSING);
        self.next += 1;
        let place = column.start.wrapping_add(self.row & column.mask);
        self.values.get(place).copied().unwrap_or(value)
    }

    fn choice<T: Named>(&mut self, name: &'static str, value: T) -> T {
        let place = self.number(name, value.place());
        let variant = usize::try_from(place)
            .ok()
            .and_then(|place| self.variant(place));
        variant.unwrap_or_else(|| {
            self.unknown(T::LIST, place);
            value
        })
    }

    fn set<T: Named + EnumSetType>(
        &mut self,
        names: [&'static str; 2],
        value: EnumSet<T>,
    ) -> EnumSet<T> {
        let standard = bits(value);
        #[expect(clippy::cast_possible_truncation, reason = "each half is meant")]
        let halves = [standard as u32, (standard >> 32) as u32];
        let low = self
            .number(names[0], halves[0].cast_signed())
            .cast_unsigned();
        let high = self
            .number(names[1], halves[1].cast_signed())
            .cast_unsigned();
        let bits = u64::from(high) << 32 | u64::from(low);
        let known = set(bits);
        if self.lists.is_empty() && super::named::bits(known) == bits {
            return known;
        }
        let places = (0..64_u8).filter(|place| bits >> place & 1 == 1);
        places
            .filter_map(|place| {
                let variant = self.variant::<T>(usize::from(place));
                if variant.is_none() {
                    self.unknown(T::LIST, i32::from(place));
                }
                variant
            })
            .collect()
    }

    fn unknown(&mut self, what: &'static str, number: i32) {
        self.unknown.get_or_insert_with(|| Undecoded::Unknown {
            list: what,
            name: number.to_string(),
        });
    }
}

/// What is read of a tick.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Part {
    /// Everything.
    All,
    /// All but the truth: what the controller was told, and answered.
    Told,
}

/// The ticks of one block.
#[derive(Clone, Debug)]
pub(super) struct Ticks {
    first: u32,
    faults: usize,
    tables: [Table; TABLES],
    answers: Vec<Outputs>,
    /// Row and mark, in order.
    marks: Vec<(u32, Mark)>,
}

impl Ticks {
    /// The ticks of a block that begins with tick `first`.
    pub(super) fn read(layout: &Layout, first: u32, payload: &[u8]) -> Result<Self, Undecoded> {
        let tables = unpacked(payload, layout).ok_or(Undecoded::Layout)?;
        let mut ticks = Self {
            first,
            faults: layout.faults,
            tables,
            answers: Vec::new(),
            marks: Vec::new(),
        };
        ticks.answers = ticks.read_answers(layout)?;
        ticks.marks = ticks.read_marks(layout)?;
        Ok(ticks)
    }

    /// How many there are.
    pub(super) const fn len(&self) -> usize {
        self.tables[TICKS].rows
    }

    fn read_answers(&self, layout: &Layout) -> Result<Vec<Outputs>, Undecoded> {
        let mut answers = Vec::with_capacity(self.tables[ANSWERS].rows);
        for row in 0..self.tables[ANSWERS].rows {
            let mut outputs = Outputs::default();
            let mut give = Give::new(layout, &self.tables, ANSWERS, row);
            answer(&mut give, &mut outputs);
            give.end()?;
            answers.push(outputs);
        }
        for row in 0..self.tables[EVENTS].rows {
            let mut give = Give::new(layout, &self.tables, EVENTS, row);
            let (number, happened) = event(&mut give, 0, Event::Acknowledged);
            give.end()?;
            let outputs: Option<&mut Outputs> = usize::try_from(number)
                .ok()
                .and_then(|number| answers.get_mut(number));
            outputs.ok_or(Undecoded::Layout)?.emit(happened);
        }
        Ok(answers)
    }

    fn read_marks(&self, layout: &Layout) -> Result<Vec<(u32, Mark)>, Undecoded> {
        let rows = 0..self.tables[MARKS].rows;
        rows.map(|row| {
            let mut give = Give::new(layout, &self.tables, MARKS, row);
            let [tick, kind, number] = mark(&mut give, [0; 3]);
            let mark = Mark::of(kind, number.cast_unsigned()).ok_or(Undecoded::Unknown {
                list: "mark",
                name: kind.to_string(),
            })?;
            Ok((tick.cast_unsigned(), mark))
        })
        .collect()
    }

    /// Reads the tick in this row, or this part of it. Of a column the file does not have
    /// nothing is changed.
    pub(super) fn tick(
        &self,
        layout: &Layout,
        index: usize,
        part: Part,
        into: &mut Tick,
    ) -> Result<(), Undecoded> {
        if index >= self.len() {
            return Err(Undecoded::Layout);
        }
        let mut links = Links::default();
        let mut give = Give::new(layout, &self.tables, TICKS, index);
        match part {
            Part::All => row(&mut give, Row::of(&mut into.frame), &mut links),
            Part::Told => told(&mut give, &mut Row::of(&mut into.frame), &mut links),
        }
        give.end()?;
        let answer = self.answers.get(links.answer as usize);
        into.frame.outputs = answer.ok_or(Undecoded::Layout)?.clone();
        into.frame.tick = u64::from(self.first) + index as u64;
        into.state = into.frame.powered.then_some(links.state);
        self.marks_of(index, into);
        Ok(())
    }

    fn marks_of(&self, index: usize, into: &mut Tick) {
        into.begun = Begun::default();
        into.marks.clear();
        if self.marks.is_empty() {
            return;
        }
        let from = self
            .marks
            .partition_point(|(row, _)| (*row as usize) < index);
        let here = self.marks[from..].iter();
        let here = here.take_while(|(row, _)| *row as usize == index);
        into.marks.extend(here.map(|(_, mark)| *mark));
        for mark in &into.marks {
            match *mark {
                Mark::ActionBegan(number) if (number as usize) < CUES => {
                    into.begun.actions.add(number as usize);
                }
                Mark::FaultBegan(number) if (number as usize) < self.faults.min(CUES) => {
                    into.begun.faults.add(number as usize);
                }
                Mark::ActionBegan(_)
                | Mark::FaultBegan(_)
                | Mark::FaultEnded(_)
                | Mark::BitFlipped(_) => {}
            }
        }
    }
}

/// The tables of a payload.
fn unpacked(payload: &[u8], layout: &Layout) -> Option<[Table; TABLES]> {
    let size = u32::from_le_bytes(*payload.first_chunk()?) as usize;
    if size > MOST_BYTES {
        return None;
    }
    let bytes = lz4_flex::decompress_size_prepended(payload).ok()?;
    let mut from = bytes.as_slice();
    let mut tables: [Table; TABLES] = Default::default();
    for (table, columns) in tables.iter_mut().zip(&layout.columns) {
        *table = Table::read(&mut from, columns)?;
    }
    from.is_empty().then_some(tables)
}
