//! The scenario file: from TOML to a checked scenario.

use std::collections::BTreeMap;
use std::ops::Range;

use mastwright_core::config::{Config, Refusal, Settings};
use serde::Deserialize;
use toml::Spanned;
use toml::de::DeTable;

use super::deed::Deed;
use super::expect::RawExpect;
use super::injection::Injection;
use super::moment::Moment;
use super::problem::{Complaint, did_you_mean};
use super::script::CUES;
use super::setup::{RawStart, within};
use super::words::Misread;
use super::{Action, Cue, LONGEST, Scenario, Start, ticks};
use crate::frame::TICK;
use crate::join::Part;
use crate::lesson::file::{RawLesson, waits_for_hands};
use crate::plant::setup::Setup;

/// The kind of a fault when none is given: a thing of the world that happens.
const ACTS: &str = "acts";

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    title: Spanned<String>,
    briefing: Spanned<String>,
    seed: Option<Spanned<i64>>,
    length: Spanned<f64>,
    #[serde(default)]
    start: RawStart,
    #[serde(default)]
    plant: Setup,
    settings: Option<Spanned<BTreeMap<Spanned<String>, Spanned<i64>>>>,
    #[serde(default)]
    action: Vec<RawAction>,
    #[serde(default)]
    fault: Vec<RawFault>,
    #[serde(default)]
    expect: RawExpect,
    lesson: Option<RawLesson>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawAction {
    at: Option<Spanned<f64>>,
    when: Option<Spanned<String>>,
    after: Option<Spanned<f64>>,
    #[serde(rename = "do")]
    deed: Spanned<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawFault {
    at: Option<Spanned<f64>>,
    when: Option<Spanned<String>>,
    after: Option<Spanned<f64>>,
    target: Spanned<String>,
    kind: Option<Spanned<String>>,
    strength: Option<Spanned<f64>>,
    duration: Option<Spanned<f64>>,
    cycle: Option<Spanned<f64>>,
}

pub(super) fn read(name: String, text: &str) -> Result<Scenario, Complaint> {
    let file: File = toml::from_str(text).map_err(|error| refused_by_toml(&error, text))?;
    let length = within("length", &Some(file.length.clone()), TICK..LONGEST, "s")?;
    let length = ticks(length.unwrap_or(LONGEST));
    let config = file
        .settings
        .as_ref()
        .map_or(Ok(Config::default()), settings)?;
    let actions = file.action.iter().map(|raw| action(raw, length, text));
    let actions: Vec<Action> = actions.collect::<Result<_, _>>()?;
    let faults = file.fault.iter().map(|raw| fault(raw, length, text));
    let faults = faults.collect::<Result<_, _>>()?;
    few_enough(file.action.get(CUES).map(|raw| raw.deed.span()), "actions")?;
    few_enough(file.fault.get(CUES).map(|raw| raw.target.span()), "faults")?;
    let whens = file
        .action
        .iter()
        .map(|raw| &raw.when)
        .chain(file.fault.iter().map(|raw| &raw.when));
    waits_for_what_there_is(whens, actions.len())?;
    let lesson = file.lesson.as_ref();
    let lesson = lesson
        .map(|lesson| lesson.check(length, text))
        .transpose()?;
    if lesson.is_some() {
        surroundings_wait_for_no_action(&file, &actions)?;
    }
    Ok(Scenario {
        name,
        title: said("title", &file.title)?,
        briefing: said("briefing", &file.briefing)?,
        text: text.to_owned(),
        seed: seed(file.seed.as_ref())?,
        ticks: length,
        setup: setup(&file, text)?,
        config,
        actions,
        faults,
        expect: file.expect.check()?,
        lesson,
    })
}

/// Turns what the TOML reader refused into a complaint with a remedy.
fn refused_by_toml(error: &toml::de::Error, text: &str) -> Complaint {
    let place = error.span().unwrap_or(0..text.len().min(1));
    let message = error.message();
    if let Some((unknown, known)) = unknown_field(message) {
        return Complaint::new(
            place,
            format!("`{unknown}` is not a key of this table"),
            "unknown key",
            did_you_mean(unknown, known),
        );
    }
    let remedy = if message.starts_with("missing field") {
        "every scenario needs `title`, `briefing` and `length`; every action `do` with `at` or \
         `when`; every fault `target` with `at` or `when`; what a lesson needs stands in \
         docs/lesson-format.md"
    } else if message.starts_with("invalid type") || message.starts_with("invalid value") {
        "give a value of the kind expected; docs/scenario-format.md lists every key"
    } else {
        "the file must be TOML: key = value, tables in [brackets], text in \"quotes\""
    };
    let first = message.lines().next().unwrap_or("not TOML");
    Complaint::new(place, first, "here", remedy)
}

/// The unknown key and the known ones, from a message of the deserialiser.
fn unknown_field(message: &str) -> Option<(&str, Vec<&str>)> {
    let mut quoted = message
        .strip_prefix("unknown field ")?
        .split('`')
        .skip(1)
        .step_by(2);
    Some((quoted.next()?, quoted.collect()))
}

pub(crate) fn said(name: &str, text: &Spanned<String>) -> Result<String, Complaint> {
    let words = text.get_ref().trim();
    if words.is_empty() {
        let message = format!("`{name}` says nothing");
        return Err(Complaint::new(
            text.span(),
            message,
            "empty",
            "say what the reader needs to know",
        ));
    }
    Ok(words.to_owned())
}

fn seed(seed: Option<&Spanned<i64>>) -> Result<u64, Complaint> {
    let Some(seed) = seed else { return Ok(1) };
    u64::try_from(*seed.get_ref()).map_err(|_| {
        let remedy = "give a whole number from 0 up, or leave `seed` out";
        Complaint::new(seed.span(), "a seed cannot be negative", "negative", remedy)
    })
}

fn few_enough(one_too_many: Option<Range<usize>>, what: &str) -> Result<(), Complaint> {
    let Some(place) = one_too_many else {
        return Ok(());
    };
    let message = format!("more than {CUES} {what}");
    Err(Complaint::new(
        place,
        message,
        "one too many",
        "split the scenario in two",
    ))
}

fn waits_for_what_there_is<'a>(
    whens: impl Iterator<Item = &'a Option<Spanned<String>>>,
    actions: usize,
) -> Result<(), Complaint> {
    for when in whens.flatten() {
        let waits = Moment::parse(when.get_ref()).map_or(0, |moment| moment.waits_for_action());
        if usize::from(waits) > actions {
            return Err(Complaint::new(
                when.span(),
                format!("there is no action {waits}: the scenario has {actions}"),
                "waits for ever",
                "count the [[action]] tables from 1, in the order of the file",
            ));
        }
    }
    Ok(())
}

/// What a trainee flies with waits for nothing the trainee flies without.
fn surroundings_wait_for_no_action(file: &File, actions: &[Action]) -> Result<(), Complaint> {
    let surroundings = file.action.iter().zip(actions);
    let surroundings = surroundings
        .filter(|(_, action)| !action.deed.is_by_hand())
        .map(|(raw, _)| &raw.when);
    let faults = file.fault.iter().map(|raw| &raw.when);
    for when in surroundings.chain(faults).flatten() {
        if Moment::parse(when.get_ref()).is_ok_and(|moment| moment.waits_for_action() > 0) {
            return Err(waits_for_hands(when));
        }
    }
    Ok(())
}

fn settings(given: &Spanned<BTreeMap<Spanned<String>, Spanned<i64>>>) -> Result<Config, Complaint> {
    let mut table = toml::Table::new();
    for (name, value) in given.get_ref() {
        let Some(field) = Settings::FIELDS
            .iter()
            .find(|field| field.name == name.get_ref())
        else {
            let known = Settings::FIELDS.iter().map(|field| field.name);
            let nearest = super::problem::nearest(name.get_ref(), known)
                .map(|name| format!("did you mean `{name}`? "))
                .unwrap_or_default();
            return Err(Complaint::new(
                name.span(),
                format!("`{}` is not a setting of the controller", name.get_ref()),
                "unknown setting",
                format!("{nearest}`mastwright list settings` shows them all"),
            ));
        };
        let number = *value.get_ref();
        if number < i64::from(field.min) || number > i64::from(field.max) {
            return Err(Complaint::new(
                value.span(),
                format!("setting `{}` is {number} {}", field.name, field.unit),
                "out of range",
                format!(
                    "give a value from {} to {} {}",
                    field.min, field.max, field.unit
                ),
            ));
        }
        table.insert(name.get_ref().clone(), toml::Value::Integer(number));
    }
    let refused = |message: String| {
        let remedy = "change one of the settings named; `mastwright list settings` shows them all";
        Complaint::new(given.span(), message, "in these settings", remedy)
    };
    let settings: Settings = toml::Value::Table(table)
        .try_into()
        .map_err(|error: toml::de::Error| refused(error.message().to_owned()))?;
    Config::new(settings).map_err(|refusal: Refusal| refused(refusal.to_string()))
}

fn setup(file: &File, text: &str) -> Result<Setup, Complaint> {
    let mut setup = file.plant;
    if setup.initial != Setup::default().initial {
        return Err(Complaint::new(
            place_of(text, &["plant", "initial"]).unwrap_or_default(),
            "`[plant.initial]` is not set in a scenario",
            "in the terms of the models",
            "say in `[start]` how it starts",
        ));
    }
    file.start.apply(&mut setup)?;
    setup.check().map_err(|error| {
        // A field is named "aircraft.mass", or "motor.iron_loss[1]" within an array.
        let field = error.field.split('[').next().unwrap_or_default();
        let mut path = vec!["plant"];
        path.extend(field.split('.'));
        let place = place_of(text, &path).unwrap_or(0..text.len().min(1));
        let remedy = format!(
            "give a value from {} to {} {}",
            error.low, error.high, error.unit
        );
        Complaint::new(place, error.to_string(), "out of range", remedy)
    })?;
    Ok(setup)
}

/// Where the value at `path` stands in the file.
fn place_of(text: &str, path: &[&str]) -> Option<Range<usize>> {
    let mut place = None;
    let document = DeTable::parse(text).ok()?;
    let mut table = Some(document.get_ref());
    for key in path {
        let (_, value) = table?.iter().find(|(name, _)| name.get_ref() == key)?;
        place = Some(value.span());
        table = value.get_ref().as_table();
    }
    place
}

fn action(raw: &RawAction, length: u64, text: &str) -> Result<Action, Complaint> {
    let cue = cue(&raw.at, &raw.when, &raw.after, &raw.deed, length, text)?;
    let deed = Deed::parse(raw.deed.get_ref())
        .map_err(|misread| misunderstood("action", &raw.deed, &misread, text))?;
    Ok(Action {
        cue,
        deed,
        words: raw.deed.get_ref().clone(),
    })
}

fn fault(raw: &RawFault, length: u64, text: &str) -> Result<Injection, Complaint> {
    let cue = cue(&raw.at, &raw.when, &raw.after, &raw.target, length, text)?;
    let kind = raw.kind.as_ref().map_or(ACTS, |kind| kind.get_ref());
    let injection = Injection {
        cue,
        target: raw.target.get_ref().clone(),
        kind: kind.to_owned(),
        strength: raw.strength.as_ref().map(|strength| *strength.get_ref()),
        duration: raw.duration.as_ref().map(|duration| *duration.get_ref()),
        cycle: raw.cycle.as_ref().map(|cycle| *cycle.get_ref()),
    };
    crate::join::fault(&injection).map_err(|refusal| {
        let place = match refusal.part {
            Part::Target => None,
            Part::Kind => raw.kind.as_ref().map(Spanned::span),
            Part::Strength => raw.strength.as_ref().map(Spanned::span),
            Part::Duration => raw.duration.as_ref().map(Spanned::span),
            Part::Cycle => raw.cycle.as_ref().map(Spanned::span),
        };
        let place = place.unwrap_or_else(|| raw.target.span());
        Complaint::new(place, refusal.message, "refused", refusal.remedy)
    })?;
    Ok(injection)
}

pub(crate) fn cue(
    at: &Option<Spanned<f64>>,
    when: &Option<Spanned<String>>,
    after: &Option<Spanned<f64>>,
    subject: &Spanned<String>,
    length: u64,
    text: &str,
) -> Result<Cue, Complaint> {
    let delay = ticks(within("after", after, 0.0..LONGEST, "s")?.unwrap_or(0.0));
    let start = match (within("at", at, 0.0..LONGEST, "s")?, at, when) {
        (Some(seconds), Some(at), None) => {
            if ticks(seconds) + delay >= length {
                return Err(Complaint::new(
                    at.span(),
                    "this would begin after the scenario has ended",
                    "too late",
                    "make `length` longer, or begin earlier",
                ));
            }
            Start::At(ticks(seconds))
        }
        (None, None, Some(when)) => Start::When(
            Moment::parse(when.get_ref())
                .map_err(|misread| misunderstood("moment", when, &misread, text))?,
        ),
        (Some(_), _, Some(when)) => {
            let remedy = "give one of them; `after` adds a delay to either";
            let message = "both `at` and `when` are given";
            return Err(Complaint::new(
                when.span(),
                message,
                "a second beginning",
                remedy,
            ));
        }
        (_, _, None) | (None, Some(_), Some(_)) => {
            return Err(Complaint::new(
                subject.span(),
                "nothing says when this begins",
                "never begins",
                "add `at = 3.0` (s) or `when = \"mast passes 40 % while stowing\"`",
            ));
        }
    };
    Ok(Cue { start, delay })
}

/// Places a misread sentence in the file.
pub(crate) fn misunderstood(
    what: &str,
    sentence: &Spanned<String>,
    misread: &Misread,
    text: &str,
) -> Complaint {
    let whole = sentence.span();
    let plain = text.get(whole.start + 1..whole.end.saturating_sub(1));
    let place = if plain == Some(sentence.get_ref()) && whole.end > whole.start + 1 {
        // At its end the sentence is pointed at by its closing quote.
        let start = whole.start + 1 + misread.at.start;
        start..(start + misread.at.len().max(1))
    } else {
        whole
    };
    let found = if misread.found.is_empty() {
        "it ends too early".to_owned()
    } else {
        format!("`{}` makes no sense here", misread.found)
    };
    Complaint::new(
        place,
        format!("this {what} cannot be understood: {found}"),
        "here",
        format!("expected {}", misread.expected),
    )
}
