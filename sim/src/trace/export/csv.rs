//! CSV as in RFC 4180 (from memory): names in the first line, then one line for each
//! tick. Flags are 0 or 1; a whole number that there is not is left empty.

use std::fs::File;
use std::io::BufWriter;

use super::signal::{Signal, Value};
use super::{NotExported, Sink};
use crate::trace::Tick;

/// A file of it, half written.
pub(super) struct Csv<'a> {
    out: csv::Writer<BufWriter<&'a mut File>>,
}

impl<'a> Csv<'a> {
    pub(super) fn new(file: &'a mut File, signals: &[Signal]) -> Result<Self, NotExported> {
        let mut out = csv::Writer::from_writer(BufWriter::new(file));
        out.write_record(signals.iter().map(Signal::name))
            .map_err(refused)?;
        Ok(Self { out })
    }
}

impl Sink for Csv<'_> {
    fn row(&mut self, _: &Tick, row: &[Value]) -> Result<(), NotExported> {
        for value in row {
            match value {
                Value::Flag(flag) => self.out.write_field(if *flag { "1" } else { "0" }),
                Value::Whole(None) => self.out.write_field(""),
                Value::Whole(Some(number)) => self.out.write_field(number.to_string()),
                Value::Real(number) => self.out.write_field(number.to_string()),
                Value::Text(text) => self.out.write_field(text.as_bytes()),
            }
            .map_err(refused)?;
        }
        self.out.write_record(None::<&[u8]>).map_err(refused)
    }

    fn gap(&mut self) -> Result<(), NotExported> {
        // The number of the tick in the next line tells.
        Ok(())
    }

    fn finish(mut self: Box<Self>) -> Result<(), NotExported> {
        Ok(self.out.flush()?)
    }
}

fn refused(error: csv::Error) -> NotExported {
    NotExported::Write(error.into())
}
