//! The `[lesson]` section of a scenario file: from TOML to a checked section.

use serde::Deserialize;
use toml::Spanned;

use super::gesture::Gesture;
use super::section::{Avoid, Caption, Cue, Hint, Section, Task};
use crate::scenario::file::{self, misunderstood, said};
use crate::scenario::problem::{Complaint, did_you_mean};
use crate::scenario::setup::within;
use crate::scenario::{Cue as Begin, LONGEST, Start, expect, ticks};

/// Most cues, tasks, things to avoid and captions, of each.
const MOST: usize = 32;
/// Most objectives.
const OBJECTIVES: usize = 6;
/// The highest level.
const HARDEST: f64 = 5.0;
/// Words read in a second: 150 a minute, slowly, for a screen that also moves. Common
/// practice, no source.
const WORDS_A_SECOND: f64 = 2.5;
/// The time to find a caption with the eye, s. Common practice, no source.
const FIND: f64 = 1.5;

/// `[lesson]` as written.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct RawLesson {
    level: Spanned<f64>,
    briefing: Spanned<String>,
    objectives: Spanned<Vec<Spanned<String>>>,
    requirements: Vec<Spanned<String>>,
    cue: Vec<RawCue>,
    task: Vec<RawTask>,
    #[serde(default)]
    avoid: Vec<RawAvoid>,
    #[serde(default)]
    caption: Vec<RawCaption>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawCue {
    name: Spanned<String>,
    at: Option<Spanned<f64>>,
    when: Option<Spanned<String>>,
    after: Option<Spanned<f64>>,
    say: Spanned<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawTask {
    #[serde(rename = "do")]
    gesture: Spanned<String>,
    cue: Spanned<String>,
    within: Spanned<f64>,
    right: Spanned<String>,
    why: Spanned<String>,
    hint: Option<Spanned<String>>,
    hint_after: Option<Spanned<f64>>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawAvoid {
    #[serde(rename = "do")]
    gesture: Spanned<String>,
    from: Option<Spanned<String>>,
    until: Option<Spanned<String>>,
    why: Spanned<String>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct RawCaption {
    at: Option<Spanned<f64>>,
    when: Option<Spanned<String>>,
    after: Option<Spanned<f64>>,
    say: Spanned<String>,
    seconds: Option<Spanned<f64>>,
}

impl RawLesson {
    /// The section; `length` is that of its scenario in ticks, `text` its whole file.
    pub(crate) fn check(&self, length: u64, text: &str) -> Result<Section, Complaint> {
        self.few_enough()?;
        let level = within("level", &Some(self.level.clone()), 1.0..HARDEST, "")?;
        let level = level.and_then(|level| (1..=5).find(|whole| f64::from(*whole) == level));
        let level = level.ok_or_else(|| {
            let message = format!("`level` is {}", self.level.get_ref());
            let remedy = "give a whole number from 1 to 5";
            Complaint::new(self.level.span(), message, "no level", remedy)
        })?;
        let cues = self.cues(length, text)?;
        Ok(Section {
            level,
            briefing: said("briefing", &self.briefing)?,
            objectives: self.objectives()?,
            requirements: expect::requirements(&self.requirements)?,
            tasks: each(&self.task, |task| task.check(&cues, text))?,
            avoid: each(&self.avoid, |avoid| avoid.check(&cues, text))?,
            captions: each(&self.caption, |caption| caption.check(length, text))?,
            cues,
        })
    }

    fn few_enough(&self) -> Result<(), Complaint> {
        let too_many = [
            ("cues", self.cue.get(MOST).map(|one| one.say.span())),
            ("tasks", self.task.get(MOST).map(|one| one.gesture.span())),
            (
                "things to avoid",
                self.avoid.get(MOST).map(|one| one.gesture.span()),
            ),
            ("captions", self.caption.get(MOST).map(|one| one.say.span())),
        ];
        for (what, place) in too_many {
            if let Some(place) = place {
                let message = format!("more than {MOST} {what}");
                let remedy = "split the lesson in two";
                return Err(Complaint::new(place, message, "one too many", remedy));
            }
        }
        Ok(())
    }

    fn objectives(&self) -> Result<Vec<String>, Complaint> {
        let given = self.objectives.get_ref();
        if given.is_empty() || given.len() > OBJECTIVES {
            return Err(Complaint::new(
                self.objectives.span(),
                format!("a lesson has from 1 to {OBJECTIVES} objectives"),
                "too few or too many",
                "say what the trainee can do afterwards, one sentence each",
            ));
        }
        each(given, |objective| said("objectives", objective))
    }

    fn cues(&self, length: u64, text: &str) -> Result<Vec<Cue>, Complaint> {
        for (index, cue) in self.cue.iter().enumerate() {
            let name = cue.name.get_ref();
            if self.cue[..index]
                .iter()
                .any(|other| other.name.get_ref() == name)
            {
                return Err(Complaint::new(
                    cue.name.span(),
                    format!("a cue is called `{name}` already"),
                    "a second one of this name",
                    "give every cue a name of its own",
                ));
            }
        }
        each(&self.cue, |cue| {
            Ok(Cue {
                name: said("name", &cue.name)?,
                begin: begin(&cue.at, &cue.when, &cue.after, &cue.say, length, text)?,
                say: said("say", &cue.say)?,
            })
        })
    }
}

impl RawTask {
    fn check(&self, cues: &[Cue], text: &str) -> Result<Task, Complaint> {
        let limit = whole("within", &self.within, 0.1)?;
        Ok(Task {
            gesture: gesture(&self.gesture, text)?,
            words: self.gesture.get_ref().clone(),
            cue: cue_named(&self.cue, cues)?,
            within: limit,
            right: said("right", &self.right)?,
            why: said("why", &self.why)?,
            hint: self.hint(limit)?,
        })
    }

    fn hint(&self, limit: u32) -> Result<Option<Hint>, Complaint> {
        let (hint, after) = match (&self.hint, &self.hint_after) {
            (None, None) => return Ok(None),
            (Some(hint), Some(after)) => (hint, after),
            (Some(alone), None) => return Err(alone_is_not_enough(alone.span())),
            (None, Some(alone)) => return Err(alone_is_not_enough(alone.span())),
        };
        let ticks = whole("hint_after", after, 0.0)?;
        if ticks >= limit {
            return Err(Complaint::new(
                after.span(),
                "this hint comes when it is too late to follow it",
                "not before `within` is over",
                "give a time shorter than `within`",
            ));
        }
        Ok(Some(Hint {
            after: ticks,
            say: said("hint", hint)?,
        }))
    }
}

fn alone_is_not_enough(place: std::ops::Range<usize>) -> Complaint {
    Complaint::new(
        place,
        "a hint needs both its words and its time",
        "the other is missing",
        "give `hint = \"...\"` and `hint_after = 3.0` (s after the cue)",
    )
}

impl RawAvoid {
    fn check(&self, cues: &[Cue], text: &str) -> Result<Avoid, Complaint> {
        let named = |name: &Option<Spanned<String>>| {
            name.as_ref().map(|name| cue_named(name, cues)).transpose()
        };
        Ok(Avoid {
            gesture: gesture(&self.gesture, text)?,
            words: self.gesture.get_ref().clone(),
            from: named(&self.from)?,
            until: named(&self.until)?,
            why: said("why", &self.why)?,
        })
    }
}

impl RawCaption {
    fn check(&self, length: u64, text: &str) -> Result<Caption, Complaint> {
        let say = said("say", &self.say)?;
        let given = within("seconds", &self.seconds, 1.0..60.0, "s")?;
        let words = u32::try_from(say.split_whitespace().count()).unwrap_or(u32::MAX);
        let seconds = given.unwrap_or(FIND + f64::from(words) / WORDS_A_SECOND);
        Ok(Caption {
            begin: begin(&self.at, &self.when, &self.after, &self.say, length, text)?,
            say,
            reading: u32::try_from(ticks(seconds)).unwrap_or(u32::MAX),
        })
    }
}

fn each<T, U>(
    these: &[T],
    check: impl Fn(&T) -> Result<U, Complaint>,
) -> Result<Vec<U>, Complaint> {
    these.iter().map(check).collect()
}

/// A time in s, as ticks.
fn whole(name: &str, field: &Spanned<f64>, least: f64) -> Result<u32, Complaint> {
    let seconds = within(name, &Some(field.clone()), least..LONGEST, "s")?;
    Ok(seconds.map_or(0, |seconds| {
        u32::try_from(ticks(seconds)).unwrap_or(u32::MAX)
    }))
}

fn gesture(words: &Spanned<String>, text: &str) -> Result<Gesture, Complaint> {
    Gesture::parse(words.get_ref())
        .map_err(|misread| misunderstood("gesture", words, &misread, text))
}

fn cue_named(name: &Spanned<String>, cues: &[Cue]) -> Result<usize, Complaint> {
    let known = || cues.iter().map(|cue| cue.name.as_str());
    known()
        .position(|known| known == name.get_ref())
        .ok_or_else(|| {
            let message = format!("no cue of this lesson is called `{}`", name.get_ref());
            let remedy = did_you_mean(name.get_ref(), known());
            Complaint::new(name.span(), message, "unknown cue", remedy)
        })
}

/// When something of a lesson comes. It waits for no action of the script: the
/// trainee's hands have no numbers.
fn begin(
    at: &Option<Spanned<f64>>,
    when: &Option<Spanned<String>>,
    after: &Option<Spanned<f64>>,
    subject: &Spanned<String>,
    length: u64,
    text: &str,
) -> Result<Begin, Complaint> {
    let begin = file::cue(at, when, after, subject, length, text)?;
    match (&begin.start, when) {
        (Start::When(moment), Some(when)) if moment.waits_for_action() > 0 => {
            Err(waits_for_hands(when))
        }
        (Start::At(_) | Start::When(_), _) => Ok(begin),
    }
}

/// Refuses a moment that waits for an action of the script.
pub(crate) fn waits_for_hands(when: &Spanned<String>) -> Complaint {
    Complaint::new(
        when.span(),
        "in a lesson only what the script's own hands do may wait for an action",
        "never comes when a trainee flies",
        "say it by what can be seen, such as `state is Armed` or `throttle < 2 %`",
    )
}
