//! VCD: value change dump, IEEE Std 1364-2005, clause 18 (from memory).
//!
//! Flags are wires, whole numbers integers with every bit unknown (`x`) where there is
//! none, numbers reals. Texts are strings, which the standard does not have and the
//! common viewers read. A wire `recorded` of our own is 0 where ticks are lost.

use std::fs::File;
use std::io::{BufWriter, Write};

use vcd::{IdCode, SimulationCommand, TimescaleUnit, VarType, Writer};

use super::signal::{Kind, Signal, Value};
use super::{About, NotExported, Sink};
use crate::trace::{Build, Tick};

/// The outermost scope.
const TOP: &str = "mastwright";
/// Milliseconds of a tick.
const TICK_MS: u64 = mastwright_core::units::TICK_MS as u64;

/// A file of it, half written.
pub(super) struct Vcd<'a> {
    out: Writer<BufWriter<&'a mut File>>,
    recorded: IdCode,
    ids: Vec<IdCode>,
    /// What holds, once something does.
    now: Vec<Value>,
    /// The time after the latest tick, ms.
    end: u64,
    lost: bool,
}

impl<'a> Vcd<'a> {
    pub(super) fn new(
        file: &'a mut File,
        signals: &[Signal],
        about: &About,
    ) -> Result<Self, NotExported> {
        let mut out = Writer::new(BufWriter::new(file));
        out.version(&Build::this().to_string())?;
        for (name, value) in about {
            out.comment(&format!("{name}: {}", value.replace('$', "_")))?;
        }
        out.timescale(1, TimescaleUnit::MS)?;
        out.add_module(TOP)?;
        let recorded = out.add_wire(1, "recorded")?;
        let ids = declare(&mut out, signals)?;
        out.upscope()?;
        out.enddefinitions()?;
        Ok(Self {
            out,
            recorded,
            ids,
            now: Vec::new(),
            end: 0,
            lost: false,
        })
    }

    fn change(&mut self, index: usize, value: &Value) -> Result<(), NotExported> {
        let id = self.ids[index];
        match value {
            Value::Flag(flag) => self.out.change_scalar(id, *flag)?,
            Value::Whole(None) => self.out.change_vector(id, [vcd::Value::X])?,
            Value::Whole(Some(number)) => {
                let bits = u32::BITS - number.leading_zeros().min(u32::BITS - 1);
                let bits = (0..bits).rev().map(|bit| (number >> bit & 1 == 1).into());
                self.out.change_vector(id, bits)?;
            }
            Value::Real(number) => self.out.change_real(id, *number)?,
            Value::Text(text) => self.out.change_string(id, text)?,
        }
        Ok(())
    }
}

/// Declares the signals, each in the scopes of its name.
fn declare<W: Write>(out: &mut Writer<W>, signals: &[Signal]) -> Result<Vec<IdCode>, NotExported> {
    let mut open: Vec<&str> = Vec::new();
    let mut ids = Vec::with_capacity(signals.len());
    for signal in signals {
        let mut scopes: Vec<&str> = signal.name().split('.').collect();
        let name = scopes.pop().unwrap_or_default();
        let same = open.iter().zip(&scopes).take_while(|(a, b)| a == b).count();
        for _ in same..open.len() {
            out.upscope()?;
        }
        for scope in &scopes[same..] {
            out.add_module(scope)?;
        }
        open = scopes;
        let (kind, width) = match signal.kind() {
            Kind::Flag => (VarType::Wire, 1),
            Kind::Whole => (VarType::Integer, u32::BITS),
            Kind::Real => (VarType::Real, 64),
            Kind::Text => (VarType::String, 1),
        };
        ids.push(out.add_var(kind, width, name, None)?);
    }
    for _ in &open {
        out.upscope()?;
    }
    Ok(ids)
}

impl Sink for Vcd<'_> {
    fn row(&mut self, tick: &Tick, row: &[Value]) -> Result<(), NotExported> {
        let time = tick.frame.tick * TICK_MS;
        let first = self.now.is_empty();
        self.out.timestamp(time)?;
        if first {
            self.out.begin(SimulationCommand::Dumpvars)?;
        }
        if first || self.lost {
            self.out.change_scalar(self.recorded, true)?;
            self.lost = false;
        }
        for (index, value) in row.iter().enumerate() {
            if self.now.get(index) != Some(value) {
                self.change(index, value)?;
            }
        }
        if first {
            self.out.end()?;
        }
        row.clone_into(&mut self.now);
        self.end = time + TICK_MS;
        Ok(())
    }

    fn gap(&mut self) -> Result<(), NotExported> {
        self.out.timestamp(self.end)?;
        self.out.change_scalar(self.recorded, false)?;
        self.lost = true;
        Ok(())
    }

    fn finish(mut self: Box<Self>) -> Result<(), NotExported> {
        // The last tick lasts as long as any other.
        if !self.lost {
            self.out.timestamp(self.end)?;
        }
        Ok(self.out.flush()?)
    }
}
