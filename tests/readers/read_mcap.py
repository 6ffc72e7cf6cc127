"""Reads an exported MCAP file with the Python reader of its authors, checks every
checksum, and holds each message to the schema of its channel."""

import json
import sys

from mcap.reader import make_reader

from summary import Summary

TYPES = {
    "boolean": bool,
    "integer": int,
    "number": (int, float),
    "string": str,
    "null": type(None),
    "object": dict,
}


def fits(value, schema, where):
    kinds = schema["type"] if isinstance(schema["type"], list) else [schema["type"]]
    if isinstance(value, bool):
        assert "boolean" in kinds, where
    else:
        assert any(isinstance(value, TYPES[kind]) for kind in kinds), where
    if isinstance(value, dict):
        assert value.keys() == schema["properties"].keys(), where
        for name, inner in value.items():
            fits(inner, schema["properties"][name], f"{where}.{name}")


def leaves(value, name):
    if isinstance(value, dict):
        for part, inner in value.items():
            yield from leaves(inner, f"{name}.{part}")
    else:
        yield name, value


summary, events, times = Summary(), [], {}
with open(sys.argv[1], "rb") as file:
    reader = make_reader(file, validate_crcs=True)
    statistics = reader.get_summary().statistics
    for schema, channel, message in reader.iter_messages():
        assert schema.encoding == "jsonschema" and channel.message_encoding == "json"
        value = json.loads(message.data)
        fits(value, json.loads(schema.data), channel.topic)
        times.setdefault(channel.topic, []).append(message.log_time)
        if channel.topic == "/events":
            events.append([value["tick"], value["kind"], value["what"]])
            continue
        for name, inner in leaves(value, channel.topic.removeprefix("/")):
            summary.add(name, inner)
    about = {record.name: record.metadata for record in reader.iter_metadata()}
summary.tell(
    events=events,
    messages=statistics.message_count,
    first_time={topic: stamps[0] for topic, stamps in times.items()},
    last_time={topic: stamps[-1] for topic, stamps in times.items()},
    about=about["mastwright"],
)
