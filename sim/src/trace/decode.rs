//! From a block to its ticks.

use std::collections::BTreeMap;

use enumset::{EnumSet, EnumSetType};
use mastwright_core::outputs::{Event, Outputs};

use super::columns::{
    ANSWERS, EVENTS, MARKS, Row, TABLES, TICKS, Visitor, answer, event, mark, row, tables,
};
use super::header::{Header, TABLE_NAMES, lists};
use super::named::{Named, bits, set};
use super::pack::{take, unpack};
use super::tick::{Mark, Tick};
use crate::flight::Begun;
use crate::frame::Frame;
use crate::scenario::script::CUES;

/// Most bytes a block may unpack to.
const MOST_BYTES: usize = 1 << 26;
/// Most rows and most columns of a table.
const MOST: usize = 1 << 16;

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

/// A table as it was read.
#[derive(Clone, Debug, Default)]
struct Table {
    rows: usize,
    /// Column after column.
    values: Vec<i32>,
}

impl Table {
    fn read(from: &mut &[u8]) -> Option<Self> {
        let rows = u32::from_le_bytes(take(from)?) as usize;
        let columns = u32::from_le_bytes(take(from)?) as usize;
        if rows > MOST || columns > MOST {
            return None;
        }
        let mut values = Vec::new();
        if rows > 0 {
            for _ in 0..columns {
                unpack(from, rows, &mut values)?;
            }
        }
        Some(Self { rows, values })
    }
}

/// Gives back a row that was kept.
struct Give<'a> {
    table: &'a Table,
    columns: &'a [Option<usize>],
    lists: &'a BTreeMap<&'static str, Vec<(Option<usize>, String)>>,
    row: usize,
    next: usize,
    unknown: Option<Undecoded>,
}

impl<'a> Give<'a> {
    fn new(layout: &'a Layout, tables: &'a [Table; TABLES], table: usize, row: usize) -> Self {
        Self {
            table: &tables[table],
            columns: &layout.columns[table],
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
    #[inline]
    fn number(&mut self, _: &'static str, value: i32) -> i32 {
        let column = self.columns.get(self.next).copied().flatten();
        self.next += 1;
        column
            .and_then(|column| self.table.values.get(column * self.table.rows + self.row))
            .copied()
            .unwrap_or(value)
    }

    fn choice<T: Named>(&mut self, name: &'static str, value: T) -> T {
        let place = self.number(name, value.place());
        let variant = usize::try_from(place)
            .ok()
            .and_then(|place| self.variant(place));
        variant.unwrap_or(value)
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
        if !self.lists.contains_key(T::LIST) {
            return set(bits);
        }
        let places = (0..64).filter(|place| bits >> place & 1 == 1);
        places
            .filter_map(|place| self.variant::<T>(place))
            .collect()
    }
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
        let tables = unpacked(payload).ok_or(Undecoded::Layout)?;
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

    /// The tick in this row, which there is.
    pub(super) fn tick(&self, layout: &Layout, index: usize) -> Result<Tick, Undecoded> {
        let mut kept = Row::default();
        let mut give = Give::new(layout, &self.tables, TICKS, index);
        row(&mut give, &mut kept);
        give.end()?;
        let answer = self.answers.get(kept.answer as usize);
        let outputs = answer.ok_or(Undecoded::Layout)?.clone();
        let (begun, marks) = self.marks_of(index);
        Ok(Tick {
            frame: Frame {
                tick: u64::from(self.first) + index as u64,
                powered: kept.powered,
                controls: kept.controls,
                truth: kept.truth,
                inputs: kept.inputs,
                outputs,
                heat_warning: kept.heat_warning,
            },
            state: kept.powered.then_some(kept.state),
            begun,
            marks,
        })
    }

    fn marks_of(&self, index: usize) -> (Begun, Vec<Mark>) {
        let from = self
            .marks
            .partition_point(|(row, _)| (*row as usize) < index);
        let here = self.marks[from..].iter();
        let here = here.take_while(|(row, _)| *row as usize == index);
        let marks: Vec<Mark> = here.map(|(_, mark)| *mark).collect();
        let mut begun = Begun::default();
        for mark in &marks {
            match *mark {
                Mark::ActionBegan(number) if (number as usize) < CUES => {
                    begun.actions.add(number as usize);
                }
                Mark::FaultBegan(number) if (number as usize) < self.faults.min(CUES) => {
                    begun.faults.add(number as usize);
                }
                Mark::ActionBegan(_)
                | Mark::FaultBegan(_)
                | Mark::FaultEnded(_)
                | Mark::BitFlipped(_) => {}
            }
        }
        (begun, marks)
    }
}

/// The tables of a payload.
fn unpacked(payload: &[u8]) -> Option<[Table; TABLES]> {
    let size = u32::from_le_bytes(*payload.first_chunk()?) as usize;
    if size > MOST_BYTES {
        return None;
    }
    let bytes = lz4_flex::decompress_size_prepended(payload).ok()?;
    let mut from = bytes.as_slice();
    let mut tables: [Table; TABLES] = Default::default();
    for table in &mut tables {
        *table = Table::read(&mut from)?;
    }
    from.is_empty().then_some(tables)
}
