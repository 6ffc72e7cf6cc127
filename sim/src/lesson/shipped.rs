//! The lessons that come with the program.

use std::path::Path;

use miette::miette;

use super::Lesson;
use crate::scenario::Scenario;
use crate::scenario::problem::{Problem, nearest};
use crate::scenario::shipped::{Shipped, with_lessons};

/// Every shipped lesson, from the easiest to the hardest.
///
/// # Errors
/// When a shipped lesson is not in order.
pub fn shipped() -> Result<Vec<Lesson>, Problem> {
    let mut lessons = Vec::new();
    for shipped in with_lessons() {
        let scenario = Scenario::parse(&shipped.file(), shipped.text)?;
        lessons.extend(Lesson::of(scenario));
    }
    lessons.sort_by_key(|lesson| lesson.section.level);
    Ok(lessons)
}

/// The lesson of this name, or in the file at this path.
///
/// # Errors
/// When there is none, it cannot be read, or it is not in order.
pub fn find(wanted: &str) -> miette::Result<Lesson> {
    let (file, text) = if let Some(shipped) = Shipped::named(wanted) {
        (shipped.file(), shipped.text.to_owned())
    } else if Path::new(wanted).exists() {
        let text = std::fs::read_to_string(wanted).map_err(|error| {
            miette!(
                help = "give the path of a lesson file in TOML, UTF-8",
                "`{wanted}` cannot be read: {error}"
            )
        })?;
        (wanted.to_owned(), text)
    } else {
        return Err(unknown(wanted));
    };
    let scenario = Scenario::parse(&file, &text)?;
    Lesson::of(scenario).ok_or_else(|| {
        miette!(
            help = "docs/lesson-format.md describes the `[lesson]` section; \
                    `mastwright list lessons` shows the lessons",
            "`{wanted}` is a scenario without a lesson"
        )
    })
}

fn unknown(wanted: &str) -> miette::Report {
    let names = with_lessons().map(|shipped| shipped.name);
    let likely = nearest(wanted, names)
        .map(|name| format!("did you mean `{name}`? "))
        .unwrap_or_default();
    miette!(
        help = format!("{likely}`mastwright list lessons` shows what is shipped"),
        "no shipped lesson is called `{wanted}`, and there is no such file"
    )
}
