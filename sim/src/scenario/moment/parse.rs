//! The grammar of moments.
//!
//! ```text
//! moment = all { "or" all }
//! all    = term { ( "and" | "while" ) term }
//! term   = fact [ "for" number "s" ]
//! fact   = quantity ( "<" | "<=" | ">" | ">=" | "passes" ) number unit
//!        | "state is" [ "not" ] state      | "halt is" [ "not" ] reason
//!        | "mode is" [ "not" ] mode        | "fault is" [ "not" ] fault
//!        | "action" number "is done"
//!        | "deploying" | "stowing" | "moving"
//!        | flag: "mast is [not] locked", "propeller is [not] parked", ...
//! ```

use enumset::EnumSet;
use mastwright_core::{Fault, Halt, Mode, State};

use super::{Moment, Regime, Term, Test};
use crate::scenario::quantity::{Flag, Quantity};
use crate::scenario::script::CUES;
use crate::scenario::words::{Misread, Sentence};
use crate::scenario::{MAGNITUDE, ticks};

const FACTS: &str = "a quantity (mast, doors, propeller, thrust, bus, insulation, charge, pack, \
    motor, controller, bay, auxiliary, airspeed, height, climb, throttle, time), `state is`, \
    `halt is`, `mode is`, `fault is`, `action N is done`, `deploying`, `stowing`, `moving`, or \
    `mast is locked` and its like";

pub(super) fn moment(text: &str) -> Result<Moment, Misread> {
    let mut sentence = Sentence::new(text)?;
    let mut alternatives = vec![all(&mut sentence)?];
    while sentence.accept("or") {
        alternatives.push(all(&mut sentence)?);
    }
    sentence.finish("`and`, `while`, `or`, `for`, or the end")?;
    Ok(Moment { alternatives })
}

fn all(sentence: &mut Sentence<'_>) -> Result<Vec<Term>, Misread> {
    let mut terms = vec![term(sentence)?];
    while sentence.accept("and") || sentence.accept("while") {
        terms.push(term(sentence)?);
    }
    Ok(terms)
}

fn term(sentence: &mut Sentence<'_>) -> Result<Term, Misread> {
    let (test, negated) = fact(sentence)?;
    let lasting = sentence.span_of_time("for")?.map_or(1, ticks);
    Ok(Term {
        test,
        negated,
        lasting: u32::try_from(lasting).unwrap_or(u32::MAX).max(1),
        held: 0,
    })
}

fn fact(sentence: &mut Sentence<'_>) -> Result<(Test, bool), Misread> {
    if let Some(found) = flag(sentence) {
        return Ok(found);
    }
    for (word, regime) in [
        ("deploying", Regime::Deploying),
        ("stowing", Regime::Stowing),
        ("moving", Regime::Moving),
    ] {
        if sentence.accept(word) {
            return Ok((Test::Regime(regime), false));
        }
    }
    if sentence.accept("state is") {
        let negated = sentence.accept("not");
        let state = sentence.name(&format!("a state: {}", state_names()), state_named)?;
        return Ok((Test::State(std::mem::discriminant(&state)), negated));
    }
    if sentence.accept("halt is") {
        let negated = sentence.accept("not");
        let halt = sentence.name(&format!("a halt reason: {:?}", Halt::ALL), halt_named)?;
        return Ok((Test::Halt(halt), negated));
    }
    if sentence.accept("mode is") {
        let negated = sentence.accept("not");
        let mode = sentence.name("a mode: Sequenced, Jog, Bench", mode_named)?;
        return Ok((Test::Mode(mode), negated));
    }
    if sentence.accept("fault is") {
        let negated = sentence.accept("not");
        let fault = sentence.name("a fault of the controller", fault_named)?;
        return Ok((Test::Fault(fault), negated));
    }
    if sentence.accept("action") {
        return Ok((action(sentence)?, false));
    }
    Ok((comparison(sentence)?, false))
}

fn flag(sentence: &mut Sentence<'_>) -> Option<(Test, bool)> {
    for (flag, words) in Flag::ALL {
        if sentence.accept(words) {
            return Some((Test::Flag(flag), false));
        }
        let negation = words
            .replacen(" is ", " is not ", 1)
            .replacen(" are ", " are not ", 1);
        if sentence.accept(&negation) {
            return Some((Test::Flag(flag), true));
        }
    }
    None
}

fn action(sentence: &mut Sentence<'_>) -> Result<Test, Misread> {
    let here = sentence.misread("the number of an action, counted from 1");
    let number = sentence.number(&here.expected)?;
    let index = (1..=CUES).find(|index| f64::from(u8::try_from(*index).unwrap_or(0)) == number);
    let Some(index) = index.and_then(|index| u8::try_from(index).ok()) else {
        return Err(here);
    };
    sentence.expect("is done")?;
    Ok(Test::Done(index))
}

fn comparison(sentence: &mut Sentence<'_>) -> Result<Test, Misread> {
    let (quantity, unit) = sentence.name(FACTS, Quantity::named)?;
    let make: fn(Quantity, f64) -> Test = if sentence.accept("<") {
        Test::Below
    } else if sentence.accept("<=") {
        Test::AtMost
    } else if sentence.accept(">") {
        Test::Above
    } else if sentence.accept(">=") {
        Test::AtLeast
    } else if sentence.accept("passes") {
        |quantity, level| Test::Passes {
            quantity,
            level,
            before: None,
        }
    } else {
        return Err(sentence.misread("`<`, `<=`, `>`, `>=` or `passes`"));
    };
    let level = sentence.measure(unit, -MAGNITUDE..MAGNITUDE)?;
    Ok(make(quantity, level))
}

/// A state by its name; `Halted` stands for every reason.
pub(crate) fn state_named(name: &str) -> Option<State> {
    State::ALL.into_iter().find(|state| state.name() == name)
}

pub(crate) fn halt_named(name: &str) -> Option<Halt> {
    Halt::ALL
        .into_iter()
        .find(|halt| format!("{halt:?}") == name)
}

pub(crate) fn fault_named(name: &str) -> Option<Fault> {
    EnumSet::<Fault>::all()
        .into_iter()
        .find(|fault| format!("{fault:?}") == name)
}

fn mode_named(name: &str) -> Option<Mode> {
    [Mode::Sequenced, Mode::Jog, Mode::Bench]
        .into_iter()
        .find(|mode| format!("{mode:?}") == name)
}

fn state_names() -> String {
    State::ALL.map(State::name).join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(text: &str) -> Misread {
        moment(text).expect_err(text)
    }

    #[test]
    fn a_missing_unit_is_pointed_at_with_the_unit_it_needs() {
        let misread = refused("mast < 40");
        assert_eq!((misread.at, misread.expected.as_str()), (9..9, "`%`"));
    }

    #[test]
    fn a_wrong_unit_is_pointed_at() {
        let misread = refused("height > 300 V");
        assert_eq!((misread.at, misread.found.as_str()), (13..14, "V"));
    }

    #[test]
    fn a_state_that_does_not_exist_is_pointed_at_with_those_that_do() {
        let misread = refused("state is Flying for 2 s");
        assert_eq!(misread.at, 9..15);
        assert!(
            misread.expected.contains("StowMast"),
            "{}",
            misread.expected
        );
    }

    #[test]
    fn words_left_over_are_refused() {
        assert_eq!(refused("stowing quickly").at, 8..15);
        assert_eq!(refused("").at, 0..0);
        assert_eq!(refused("stowing and").found, "");
    }

    #[test]
    fn an_action_is_counted_from_one_in_whole_numbers() {
        for wrong in [
            "action 0 is done",
            "action 1.5 is done",
            "action 65 is done",
        ] {
            assert_eq!(refused(wrong).at.start, 7, "{wrong}");
        }
    }
}
