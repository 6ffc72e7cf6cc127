//! What of two ticks is unlike, in plain words.

use super::Regard;
use crate::controls::{Controls, Push};
use crate::link::tell::{self, Of};
use crate::report::number::number;
use crate::trace::Tick;

/// Its name, what the first says and what the second.
type Named = (String, String, String);

/// What of two ticks is unlike in one regard.
pub(super) fn unlike(regard: Regard, one: &Tick, other: &Tick, same_form: bool) -> Vec<Named> {
    match regard {
        Regard::World => world(one, other),
        Regard::Hands => hands(&one.frame.controls, &other.frame.controls),
        Regard::Readings => tell::readings_apart(&one.frame.inputs, &other.frame.inputs),
        Regard::State => {
            let mut rows = answers(one, other, Of::State);
            if rows.is_empty() && same_form && one.state != other.state {
                let print = |state: Option<u32>| {
                    state.map_or_else(
                        || "without supply".to_owned(),
                        |state| format!("fingerprint {state:08x}"),
                    )
                };
                rows.push((
                    "something it keeps and does not show".to_owned(),
                    print(one.state),
                    print(other.state),
                ));
            }
            rows
        }
        Regard::Permissions => answers(one, other, Of::Permissions),
        Regard::Outputs => answers(one, other, Of::Outputs),
    }
}

fn answers(one: &Tick, other: &Tick, of: Of) -> Vec<Named> {
    tell::differing(&one.frame.outputs, &other.frame.outputs)
        .into_iter()
        .filter(|said| said.of == of)
        .map(|said| (said.name, said.first, said.second))
        .collect()
}

fn world(one: &Tick, other: &Tick) -> Vec<Named> {
    let marks = |tick: &Tick| {
        let words: Vec<String> = tick.marks.iter().map(ToString::to_string).collect();
        if words.is_empty() {
            "nothing".to_owned()
        } else {
            words.join(", ")
        }
    };
    let mut rows = Vec::new();
    if one.marks != other.marks {
        rows.push(("in this tick".to_owned(), marks(one), marks(other)));
    }
    let (a, b) = (one.frame.powered, other.frame.powered);
    row(&mut rows, "supply", switched(a), switched(b));
    rows
}

/// The controls that stand otherwise.
fn hands(a: &Controls, b: &Controls) -> Vec<Named> {
    let mut rows = Vec::new();
    if (a.throttle - b.throttle).abs() > 0.0 {
        let lever = |controls: &Controls| format!("{} %", number(controls.throttle * 100.0, 3));
        rows.push(("throttle".to_owned(), lever(a), lever(b)));
    }
    row(&mut rows, "selector", pushed(a), pushed(b));
    let pairs = [
        ("stop-and-stow switch", a.stop, b.stop),
        ("bench key", a.bench_key, b.bench_key),
        ("acknowledge", a.acknowledge, b.acknowledge),
        ("heat test", a.heat_test, b.heat_test),
        ("auxiliary charge", a.aux_charge, b.aux_charge),
    ];
    for (name, a, b) in pairs {
        row(&mut rows, name, switched(a), switched(b));
    }
    rows
}

fn row(rows: &mut Vec<Named>, name: &str, a: &str, b: &str) {
    if a != b {
        rows.push((name.to_owned(), a.to_owned(), b.to_owned()));
    }
}

const fn pushed(controls: &Controls) -> &'static str {
    match controls.selector {
        Push::Hold => "hold",
        Push::Deploy => "deploy",
        Push::Stow => "stow",
    }
}

const fn switched(on: bool) -> &'static str {
    if on { "on" } else { "off" }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_hands_only_what_stands_otherwise_is_told() {
        let a = Controls {
            throttle: 1.0,
            ..Controls::default()
        };
        assert_eq!(hands(&a, &a), []);
        let b = Controls { stop: true, ..a };
        let told = |name: &str, a: &str, b: &str| (name.to_owned(), a.to_owned(), b.to_owned());
        assert_eq!(hands(&a, &b), [told("stop-and-stow switch", "off", "on")]);
        let b = Controls {
            throttle: 0.6,
            selector: Push::Stow,
            ..a
        };
        assert_eq!(
            hands(&a, &b),
            [
                told("throttle", "100.000 %", "60.000 %"),
                told("selector", "hold", "stow")
            ]
        );
    }
}
