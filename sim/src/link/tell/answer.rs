//! What two answers of a controller say otherwise, in words.

use std::fmt::Debug;

use enumset::{EnumSet, EnumSetType};
use mastwright_core::interlock::{Permission, Reason};
use mastwright_core::outputs::{DoorDrive, Event, Fans, MastDrive, Motor, Pace};
use mastwright_core::units::Permille;
use mastwright_core::{Mode, Outputs, State};

use crate::report::words;

/// One thing that two answers say otherwise.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Said {
    /// Its name.
    pub name: String,
    /// Of what it is.
    pub of: Of,
    /// What the first says.
    pub first: String,
    /// What the second says.
    pub second: String,
}

/// The parts of an answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Of {
    /// What is switched and driven, and the pilot's lamps.
    Outputs,
    /// The state, the mode and the alerts.
    State,
    /// What is proven, and what is denied.
    Permissions,
    /// What happened in the tick.
    Events,
}

/// What two answers say otherwise, by name: what the first says and what the second.
#[must_use]
pub fn differing(first: &Outputs, second: &Outputs) -> Vec<Said> {
    let mut rows = drives(first, second);
    rows.extend(told(first, second));
    rows.extend(denials(first, second));
    rows.extend(events(first, second));
    let sets = (&first.indications, &second.indications);
    rows.extend([
        apart(Of::State, "faults", sets.0.faults, sets.1.faults),
        apart(Of::State, "sounding", sets.0.sounding, sets.1.sounding),
        apart(Of::Permissions, "proven", first.proven, second.proven),
    ]);
    rows.retain(|said| said.first != said.second);
    rows
}

macro_rules! rows {
    ($of:expr, $a:expr, $b:expr; $($name:literal: $words:ident($($field:ident).+ $([$index:literal])?)),+ $(,)?) => {
        vec![$(Said {
            name: $name.to_owned(),
            of: $of,
            first: $words($a.$($field).+$([$index])?),
            second: $words($b.$($field).+$([$index])?),
        }),+]
    };
}

fn drives(first: &Outputs, second: &Outputs) -> Vec<Said> {
    rows!(Of::Outputs, first.drives, second.drives;
        "motor": motor(motor),
        "motor enable": switched(motor_enable),
        "mast": mast(mast),
        "doors": doors(doors),
        "mast power": switched(mast_power),
        "door power": switched(door_power),
        "contactor of pack 1": closed(bus.packs[0]),
        "contactor of pack 2": closed(bus.packs[1]),
        "pre-charge relay": closed(bus.precharge),
        "main contactor": closed(bus.main),
        "discharge relay": closed(bus.discharge),
        "fans": fans(fans),
        "auxiliary charger": switched(aux_charger),
    )
}

fn told(first: &Outputs, second: &Outputs) -> Vec<Said> {
    let (a, b) = (&first.indications, &second.indications);
    let mut rows = rows!(Of::State, a, b; "state": state(state), "mode": mode(mode));
    rows.extend(rows!(Of::Outputs, a, b;
        "mast locked": truth(mast_locked),
        "stowed": truth(stowed),
        "parked": truth(parked),
        "armed": truth(armed),
        "bus dead": truth(bus_dead),
    ));
    rows
}

/// What is denied, one row for each permission.
fn denials(first: &Outputs, second: &Outputs) -> Vec<Said> {
    let words = |outputs: &Outputs, permission: Permission| {
        let denials = &outputs.denials;
        let denial = denials
            .iter()
            .find(|denial| denial.permission == permission);
        denial.map_or_else(
            || "not denied".to_owned(),
            |denial| {
                let reasons: Vec<&str> = denial.reasons.iter().map(Reason::words).collect();
                format!("denied: {}", reasons.join("; "))
            },
        )
    };
    let row = |name: &str, first, second| Said {
        name: name.to_owned(),
        of: Of::Permissions,
        first,
        second,
    };
    let order = |outputs: &Outputs| {
        let denials = outputs.denials.iter();
        let names: Vec<&str> = denials
            .map(|denial| words::permission(denial.permission))
            .collect();
        names.join(", ")
    };
    let all = EnumSet::<Permission>::all().iter();
    let rows: Vec<Said> = all
        .map(|permission| {
            let name = words::permission(permission);
            row(name, words(first, permission), words(second, permission))
        })
        .collect();
    if rows.iter().all(|said| said.first == said.second) {
        return vec![row("order of denials", order(first), order(second))];
    }
    rows
}

fn events(first: &Outputs, second: &Outputs) -> [Said; 2] {
    let row = |name: &str, first, second| Said {
        name: name.to_owned(),
        of: Of::Events,
        first,
        second,
    };
    let listed = |events: &[Event]| {
        let words: Vec<String> = events.iter().map(event).collect();
        if words.is_empty() {
            "none".to_owned()
        } else {
            words.join(", ")
        }
    };
    [
        row("events", listed(&first.events), listed(&second.events)),
        row(
            "events lost",
            first.events_lost.to_string(),
            second.events_lost.to_string(),
        ),
    ]
}

fn event(event: &Event) -> String {
    match event {
        Event::Went { from, to } => format!("went from {from:?} to {to:?}"),
        Event::Intended(intention) => format!("asked: {}", words::intention(*intention)),
        Event::Ignored(intention) => {
            format!("asked without effect: {}", words::intention(*intention))
        }
        Event::Latched(fault) => format!("latched {fault:?}"),
        Event::Cleared(fault) => format!("cleared {fault:?}"),
        Event::Bus(stage) => format!("bus {}", words::stage(*stage)),
        Event::Acknowledged => "alerts acknowledged".to_owned(),
        Event::RestraintConfirmed => "restraint confirmed".to_owned(),
        Event::RestraintEnded => "restraint ended".to_owned(),
    }
}

/// Of two sets, what only one of them has: the one has it, the other has it not.
fn apart<T: EnumSetType + Debug>(
    of: Of,
    name: &'static str,
    first: EnumSet<T>,
    second: EnumSet<T>,
) -> Said {
    let words = |has: EnumSet<T>, lacks: EnumSet<T>| {
        let has = has.iter().map(|one| format!("{one:?}"));
        let lacks = lacks.iter().map(|one| format!("not {one:?}"));
        has.chain(lacks).collect::<Vec<_>>().join(", ")
    };
    let (has, lacks) = (first - second, second - first);
    Said {
        name: name.to_owned(),
        of,
        first: words(has, lacks),
        second: words(lacks, has),
    }
}

fn share(of: Permille) -> String {
    format!("{:.1} %", f64::from(of.get()) / 10.0)
}

fn motor(motor: Motor) -> String {
    match motor {
        Motor::Free => "free".to_owned(),
        Motor::Thrust(part) => format!("propels, {}", share(part)),
        Motor::Short => "windings shorted".to_owned(),
        Motor::Brake(part) => format!("brakes, {}", share(part)),
        Motor::Creep(speed) => format!("turns the blade, {} rpm", speed.get()),
        Motor::Hold(part) => format!("holds the blade, {}", share(part)),
    }
}

fn mast(drive: MastDrive) -> String {
    match drive {
        MastDrive::Off => "off".to_owned(),
        MastDrive::Extend(pace) => format!("extends{}", slow(pace)),
        MastDrive::Retract(pace) => format!("retracts{}", slow(pace)),
    }
}

const fn slow(pace: Pace) -> &'static str {
    match pace {
        Pace::Full => "",
        Pace::Slow => " slowly",
    }
}

fn doors(drive: DoorDrive) -> String {
    match drive {
        DoorDrive::Off => "off",
        DoorDrive::Open => "open",
        DoorDrive::Close => "close",
    }
    .to_owned()
}

fn fans(fans: Fans) -> String {
    switched(fans == Fans::On)
}

fn state(state: State) -> String {
    format!("{state:?}")
}

fn mode(mode: Mode) -> String {
    format!("{mode:?}")
}

fn switched(on: bool) -> String {
    if on { "on" } else { "off" }.to_owned()
}

fn closed(closed: bool) -> String {
    if closed { "closed" } else { "open" }.to_owned()
}

fn truth(yes: bool) -> String {
    if yes { "yes" } else { "no" }.to_owned()
}

#[cfg(test)]
mod tests {
    use mastwright_core::interlock::Condition;
    use mastwright_core::outputs::Denial;

    use super::*;

    #[test]
    fn only_what_differs_is_told_and_in_words() {
        let first = Outputs::default();
        let mut second = first.clone();
        second.drives.bus.main = true;
        second.drives.motor = Motor::Hold(Permille::new(503));
        second.proven |= Condition::Parked;
        let denial = Denial {
            permission: Permission::Retract,
            reasons: Reason::NotParked.into(),
        };
        second.denials.push(denial).expect("room for one");
        let told: Vec<(String, String, String)> = differing(&first, &second)
            .into_iter()
            .map(|said| (said.name, said.first, said.second))
            .collect();
        let row = |name: &str, one: &str, other: &str| {
            (name.to_owned(), one.to_owned(), other.to_owned())
        };
        assert_eq!(
            told,
            [
                row("motor", "windings shorted", "holds the blade, 50.3 %"),
                row("main contactor", "open", "closed"),
                row(
                    "retract mast",
                    "not denied",
                    "denied: propeller not proven parked"
                ),
                row("proven", "not Parked", "Parked"),
            ]
        );
        assert_eq!(differing(&first, &first), []);
    }

    #[test]
    fn every_answer_that_is_not_equal_says_something() {
        let first = Outputs::default();
        let mut second = first.clone();
        second.emit(Event::Acknowledged);
        let told = differing(&first, &second);
        assert_eq!(told.len(), 1);
        assert_eq!(
            (told[0].first.as_str(), told[0].second.as_str()),
            ("none", "alerts acknowledged")
        );
    }
}
