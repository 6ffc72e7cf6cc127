//! MCAP: one channel for each group of signals, and one for what happened; messages in
//! JSON, each channel with its JSON schema. The time of a message is that of its tick,
//! from 0.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, BufWriter, Read};

use mcap::records::{MessageHeader, Metadata};
use mcap::{Compression, McapError, WriteOptions, Writer};
use serde_json::{Map, Value as Json, json};

use super::events::events;
use super::signal::{Kind, Signal, Value};
use super::{About, Format, NotExported, Sink};
use crate::trace::{Build, Tick};

/// Nanoseconds of a tick.
const TICK_NS: u64 = mastwright_core::units::TICK_MS as u64 * 1_000_000;

/// Where the name of what wrote a file begins: behind the magic, the code and the length
/// of the header, a profile without letters, and the length of the name.
const LIBRARY: usize = 8 + 1 + 8 + 4 + 4;

/// True for a file whose header says that this program wrote it.
pub(super) fn is_ours(file: &mut File) -> io::Result<bool> {
    let mut found = Vec::new();
    let ours = b"mastwright ";
    let most = LIBRARY + ours.len();
    file.take(most as u64).read_to_end(&mut found)?;
    let begins = found.starts_with(Format::Mcap.beginning());
    Ok(begins && found.get(LIBRARY..) == Some(ours))
}

/// A file of it, half written.
pub(super) struct Mcap<'a> {
    out: Writer<BufWriter<&'a mut File>>,
    channels: Vec<Channel>,
    events: u16,
    /// Events written so far.
    happened: u32,
    message: String,
}

/// The channel of one group of signals.
struct Channel {
    id: u16,
    /// How many signals it has.
    signals: usize,
    /// What stands before each value, and after the last.
    leads: Vec<String>,
}

impl<'a> Mcap<'a> {
    pub(super) fn new(
        file: &'a mut File,
        signals: &[Signal],
        about: &About,
    ) -> Result<Self, NotExported> {
        let options = WriteOptions::new()
            .compression(Some(Compression::Lz4))
            .library(Build::this().to_string());
        let mut out = options.create(BufWriter::new(file)).map_err(refused)?;
        let metadata = Metadata {
            name: "mastwright".to_owned(),
            metadata: told(about),
        };
        out.write_metadata(&metadata).map_err(refused)?;
        let mut channels = Vec::new();
        for group in signals.chunk_by(|one, next| one.parts().0 == next.parts().0) {
            let name = group.first().map_or("", |signal| signal.parts().0);
            channels.push(Channel {
                id: channel(&mut out, name, &schema(name, group))?,
                signals: group.len(),
                leads: leads(group),
            });
        }
        let events = channel(&mut out, "events", &schema_of_events())?;
        Ok(Self {
            out,
            channels,
            events,
            happened: 0,
            message: String::new(),
        })
    }

    fn send(&mut self, channel: u16, sequence: u32, time: u64) -> Result<(), NotExported> {
        let header = MessageHeader {
            channel_id: channel,
            sequence,
            log_time: time,
            publish_time: time,
        };
        let data = self.message.as_bytes();
        self.out
            .write_to_known_channel(&header, data)
            .map_err(refused)
    }
}

fn told(about: &About) -> BTreeMap<String, String> {
    let mut told: BTreeMap<String, String> = BTreeMap::new();
    for (name, value) in about {
        told.entry((*name).to_owned())
            .and_modify(|known| {
                known.push_str("; ");
                known.push_str(value);
            })
            .or_insert_with(|| value.clone());
    }
    told
}

fn channel(
    out: &mut Writer<BufWriter<&mut File>>,
    name: &str,
    schema: &Json,
) -> Result<u16, NotExported> {
    let schema = out
        .add_schema(
            &format!("mastwright.{name}"),
            "jsonschema",
            schema.to_string().as_bytes(),
        )
        .map_err(refused)?;
    out.add_channel(schema, &format!("/{name}"), "json", &BTreeMap::new())
        .map_err(refused)
}

/// The schema of a group's messages: an object for every part of a name.
fn schema(name: &str, group: &[Signal]) -> Json {
    let mut root = Map::new();
    for signal in group {
        let mut parts = signal.parts().1;
        let own = parts.pop().unwrap_or_default();
        let mut at = &mut root;
        for part in parts {
            let object = at
                .entry(part)
                .or_insert_with(|| json!({"type": "object", "properties": {}}));
            at = object["properties"]
                .as_object_mut()
                .expect("an object just made, or made before in the same way");
        }
        let unit = signal
            .unit()
            .map_or_else(String::new, |unit| format!(", {}", unit.symbol()));
        let kind = match signal.kind() {
            Kind::Flag => json!("boolean"),
            Kind::Whole => json!(["integer", "null"]),
            Kind::Real => json!("number"),
            Kind::Text => json!("string"),
        };
        let about = format!("{}{unit}", signal.about());
        at.insert(own.to_owned(), json!({"type": kind, "description": about}));
    }
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": format!("mastwright.{name}"),
        "type": "object",
        "properties": root,
    })
}

fn schema_of_events() -> Json {
    json!({
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "mastwright.events",
        "type": "object",
        "properties": {
            "tick": {"type": "integer", "description": "Number of the tick"},
            "kind": {"type": "string", "description": "What kind of thing happened"},
            "what": {"type": "string", "description": "What"},
        },
    })
}

/// What stands before each value of a group's message, and after the last: the objects
/// that end and begin there, and the value's own name.
fn leads(group: &[Signal]) -> Vec<String> {
    let mut leads = Vec::with_capacity(group.len() + 1);
    let mut open: Vec<&str> = Vec::new();
    for (index, signal) in group.iter().enumerate() {
        let mut parts = signal.parts().1;
        let own = parts.pop().unwrap_or_default();
        let same = open.iter().zip(&parts).take_while(|(a, b)| a == b).count();
        let mut lead = "}".repeat(open.len() - same);
        lead.push(if index == 0 { '{' } else { ',' });
        for part in &parts[same..] {
            lead.push_str(&format!("\"{part}\":{{"));
        }
        lead.push_str(&format!("\"{own}\":"));
        leads.push(lead);
        open = parts;
    }
    leads.push("}".repeat(open.len() + 1));
    leads
}

fn put(message: &mut String, value: &Value) {
    match value {
        Value::Flag(flag) => message.push_str(if *flag { "true" } else { "false" }),
        Value::Whole(None) => message.push_str("null"),
        Value::Whole(Some(number)) => message.push_str(&number.to_string()),
        Value::Real(number) => message.push_str(&json!(number).to_string()),
        Value::Text(text) => message.push_str(&json!(text).to_string()),
    }
}

impl Sink for Mcap<'_> {
    fn row(&mut self, tick: &Tick, row: &[Value]) -> Result<(), NotExported> {
        let time = tick.frame.tick * TICK_NS;
        let sequence = u32::try_from(tick.frame.tick).unwrap_or(u32::MAX);
        let mut rest = row;
        for index in 0..self.channels.len() {
            let channel = &self.channels[index];
            let (values, others) = rest.split_at(channel.signals);
            rest = others;
            self.message.clear();
            for (lead, value) in channel.leads.iter().zip(values) {
                self.message.push_str(lead);
                put(&mut self.message, value);
            }
            let end = channel.leads.last().map_or("", String::as_str);
            self.message.push_str(end);
            self.send(self.channels[index].id, sequence, time)?;
        }
        for (kind, what) in events(tick) {
            self.message = json!({"tick": tick.frame.tick, "kind": kind, "what": what}).to_string();
            self.send(self.events, self.happened, time)?;
            self.happened += 1;
        }
        Ok(())
    }

    fn gap(&mut self) -> Result<(), NotExported> {
        // No message is sent; the number of the next tick tells.
        Ok(())
    }

    fn finish(mut self: Box<Self>) -> Result<(), NotExported> {
        self.out.finish().map_err(refused)?;
        Ok(())
    }
}

fn refused(error: McapError) -> NotExported {
    NotExported::Format(error.to_string())
}
