//! How long frames can be: every buffer of the link has its length from here, and the
//! lengths are held together when this is compiled.

use super::frame::{HEAD, TAIL};
use super::message::TEXT;
use crate::config::Settings;
use crate::journal::SLOT_BYTES;
use crate::outputs::{DENIALS, EVENTS};

/// Most ticks in one frame.
pub const BATCH: usize = 8;

/// Postcard's longest form of a 16-bit number.
const WORD: usize = 3;
/// Postcard's longest form of a 32-bit number.
const LONG: usize = 5;
/// Postcard's longest form of a 64-bit number.
const DOUBLE: usize = 10;

/// Most bytes of [`Inputs`](crate::Inputs): each signal has its age, one byte.
pub const INPUTS_MAX: usize = {
    let switches = 10 + 3 + 3 + 1 + 1;
    let words = 2 + 1 + 1 + 1 + 2 * 2 + 2 + 1;
    let longs = 1 + 1 + 2 + 2 + 2 + 1;
    let missed_deadline = 1;
    switches * 2 + words * (WORD + 1) + longs * (LONG + 1) + missed_deadline
};

/// Most bytes of [`Outputs`](crate::Outputs).
pub const OUTPUTS_MAX: usize = {
    let motor = 1 + WORD;
    let bus = 5;
    let drives = motor + 1 + 2 + 1 + 1 + 1 + bus + 1 + 1;
    let state = 2;
    let indications = state + 1 + 5 + DOUBLE + DOUBLE;
    let proven = DOUBLE;
    let denials = 1 + DENIALS * (1 + LONG);
    let events = 1 + EVENTS * (1 + state + state);
    drives + indications + proven + denials + events + 1
};

/// Most bytes of [`Answer`](super::Answer).
pub const ANSWER_MAX: usize = OUTPUTS_MAX + LONG;
/// Most bytes of [`Settings`]: none of them is wider than 32 bits.
pub const SETTINGS_MAX: usize = Settings::FIELDS.len() * LONG;
/// Most bytes of [`Batch`](super::Batch).
pub const BATCH_HEAD_MAX: usize = LONG + 1;
/// Bytes of both slots of the non-volatile memory.
pub const RECORD: usize = 2 * SLOT_BYTES;
/// Most bytes of [`Ready`](super::Ready).
pub const READY_MAX: usize = {
    let text = 1 + TEXT;
    let stance = 2 + WORD;
    let retained = DOUBLE + 2;
    text + LONG + 1 + stance + WORD + LONG + retained + LONG
};

/// Most bytes of a body.
pub const BODY_MAX: usize = BATCH_HEAD_MAX + BATCH * ANSWER_MAX;
/// Most bytes of a content.
pub const CONTENT_MAX: usize = HEAD + BODY_MAX + TAIL;
/// Most bytes of a frame on the line, both delimiters included.
pub const FRAME_MAX: usize = cobs::max_encoding_length(CONTENT_MAX) + 2;

const _: () = {
    assert!(BATCH > 0 && BATCH < 256, "a batch is counted in one byte");
    assert!(BODY_MAX < 65_536, "a body's length has two bytes");
    assert!(BATCH_HEAD_MAX + BATCH * INPUTS_MAX <= BODY_MAX);
    assert!(SETTINGS_MAX <= BODY_MAX);
    assert!(RECORD <= BODY_MAX);
    assert!(READY_MAX <= BODY_MAX);
};
