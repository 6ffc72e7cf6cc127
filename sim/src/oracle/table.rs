//! The hazards and the safety requirements, as data.

/// A hazard, judged in plant truth.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Hazard {
    /// Its id.
    pub id: &'static str,
    /// What it is, in one line.
    pub title: &'static str,
    /// What it is.
    pub statement: &'static str,
}

/// How a requirement is judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Judged {
    /// By a rule of the oracle, in every run.
    RunTime,
    /// By tests of the place named; nothing of it shows in a frame.
    ByTest(&'static str),
    /// By a rule of the oracle, and further by tests of the place named.
    Both(&'static str),
}

impl Judged {
    /// True when a rule of the oracle judges it.
    #[must_use]
    pub const fn at_run_time(self) -> bool {
        matches!(self, Self::RunTime | Self::Both(_))
    }

    /// The place of the tests that judge it, empty if none is needed.
    #[must_use]
    pub const fn by_test(self) -> &'static str {
        match self {
            Self::RunTime => "",
            Self::ByTest(place) | Self::Both(place) => place,
        }
    }
}

/// A safety requirement.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Requirement {
    /// Its id.
    pub id: &'static str,
    /// What it is about, in one line.
    pub title: &'static str,
    /// What is required.
    pub statement: &'static str,
    /// The hazards it bounds.
    pub hazards: &'static [&'static str],
    /// How it is judged.
    pub judged: Judged,
}

/// Every hazard.
pub const HAZARDS: &[Hazard] = &[
    Hazard {
        id: "HZ-1",
        title: "Blade strike",
        statement: "Blade strike: the blade is outside the clearance sector while the mast is inside the bay.",
    },
    Hazard {
        id: "HZ-2",
        title: "Thrust on an unlocked mast",
        statement: "Thrust on an unlocked mast: the motor propels while the latch pin is not engaged.",
    },
    Hazard {
        id: "HZ-3",
        title: "Mast against doors",
        statement: "Mast against doors: the mast moves, or the doors close, while one is in the way of the other.",
    },
    Hazard {
        id: "HZ-4",
        title: "Inrush",
        statement: "Inrush: the surge into the bus capacitor exceeds what capacitor and contactor stand.",
    },
    Hazard {
        id: "HZ-5",
        title: "Overheating",
        statement: "Overheating: motor, motor controller or pack is hotter than its damage limit.",
    },
    Hazard {
        id: "HZ-6",
        title: "Person near",
        statement: "Person near: mast or blade is moved by the system against a person declared near it.",
    },
    Hazard {
        id: "HZ-7",
        title: "Bus live when shown dead",
        statement: "Bus live when shown dead: the bus is high voltage while the pilot is told that it is dead.",
    },
    Hazard {
        id: "HZ-8",
        title: "Unbounded wait",
        statement: "Unbounded wait: a stop-and-stow brings neither an end nor an answer in its time.",
    },
];

/// Every safety requirement.
pub const REQUIREMENTS: &[Requirement] = &[
    Requirement {
        id: "SR-01",
        title: "Torque only on a mast proven locked",
        statement: "Propulsive torque is commanded only while the mast is proven deployed and locked, and is so in truth; when the lock is lost the command ends within 150 ms.",
        hazards: &["HZ-2"],
        judged: Judged::RunTime,
    },
    Requirement {
        id: "SR-02",
        title: "Mast into the bay only with the blade proven parked",
        statement: "The mast is not driven below the blade-clearance position unless the propeller is proven parked by two independent sources that agree, at speed zero, for the proof time, and so stands parked in its sector; in Bench only after confirmed restraint. When parking is lost the drive ends within 150 ms.",
        hazards: &["HZ-1"],
        judged: Judged::RunTime,
    },
    Requirement {
        id: "SR-03",
        title: "Dead time between opposite drives",
        statement: "Opposite drives of the mast, or of the doors, are never on together; between them both are off for at least 200 ms.",
        hazards: &["HZ-3"],
        judged: Judged::RunTime,
    },
    Requirement {
        id: "SR-04",
        title: "Main contactor only onto an insulated, pre-charged bus",
        statement: "The main contactor closes only with insulation in order and the bus pre-charged to at least 90 % of the voltage of the connected packs; pre-charge begins only with insulation in order.",
        hazards: &["HZ-4", "HZ-7"],
        judged: Judged::RunTime,
    },
    Requirement {
        id: "SR-05",
        title: "Nothing moves after power-up before a fresh intention",
        statement: "After power-up, reset or brown-out no mast, door or motor drive acts before a fresh intention of the pilot, and the bus is not made live before one or the standing request for auxiliary charging.",
        hazards: &["HZ-1", "HZ-3", "HZ-6"],
        judged: Judged::RunTime,
    },
    Requirement {
        id: "SR-06",
        title: "The stop ends thrust within one tick, until re-armed",
        statement: "Throwing the stop-and-stow switch takes the thrust demand to zero within one tick; it stays zero until the switch is released, the throttle is seen at zero and Deploy is asked for afresh.",
        hazards: &["HZ-2", "HZ-6", "HZ-8"],
        judged: Judged::RunTime,
    },
    Requirement {
        id: "SR-07",
        title: "A stop-and-stow ends in time: stowed, or halted with its reason",
        statement: "Stop-and-stow, and Stow under thrust as far as the selector's contacts prove it, ends within 60 s and under any single fault: mast stowed and doors shut, or a safe halt declared with its reason, unless the pilot takes over. An end shown as stowed is one.",
        hazards: &["HZ-8"],
        judged: Judged::RunTime,
    },
    Requirement {
        id: "SR-08",
        title: "No thrust before the throttle was seen at zero",
        statement: "Thrust needs the throttle seen at zero since the mast locked and since power-up; a throttle opened early never starts the motor.",
        hazards: &["HZ-2", "HZ-6"],
        judged: Judged::RunTime,
    },
    Requirement {
        id: "SR-09",
        title: "Mast only between open doors; doors close only behind it",
        statement: "The mast is driven only between open doors; doors are closed only behind a stowed mast. When that is lost the drive ends within 150 ms.",
        hazards: &["HZ-3"],
        judged: Judged::RunTime,
    },
    Requirement {
        id: "SR-10",
        title: "Heat: an alert in time, then less power, then none",
        statement: "Over-temperature, fans told to stand still, or a rise that cooling cannot explain gives an alert in time; thrust is reduced, and ends before damage.",
        hazards: &["HZ-5"],
        judged: Judged::RunTime,
    },
    Requirement {
        id: "SR-11",
        title: "A stale, invalid or contradicted signal proves nothing",
        statement: "A signal that is stale, invalid or contradicted is never proof of anything: what needs it is not driven, at the latest after 150 ms.",
        hazards: &["HZ-1", "HZ-2", "HZ-3"],
        judged: Judged::Both("properties"),
    },
    Requirement {
        id: "SR-12",
        title: "Mast sensors that contradict each other halt the mast",
        statement: "Both end switches at once, or a switch against the position sensor, halts the mast and latches a fault within 150 ms.",
        hazards: &["HZ-1", "HZ-3"],
        judged: Judged::RunTime,
    },
    Requirement {
        id: "SR-13",
        title: "A stalled or overdue drive is switched off",
        statement: "A drive that is stalled or overloaded for 600 ms, or runs beyond its time, is switched off.",
        hazards: &["HZ-3", "HZ-5"],
        judged: Judged::RunTime,
    },
    Requirement {
        id: "SR-14",
        title: "Every interruption leaves a documented way out",
        statement: "Every interruption in every state leaves a state from which a documented way out exists; in a safe halt mast and doors stand still.",
        hazards: &["HZ-8"],
        judged: Judged::Both("properties"),
    },
    Requirement {
        id: "SR-15",
        title: "A step is total",
        statement: "A step is total: any inputs, in any order, of any length: no panic, no overflow.",
        hazards: &["HZ-8"],
        judged: Judged::ByTest("total"),
    },
    Requirement {
        id: "SR-16",
        title: "A missed deadline leaves fail-safe outputs",
        statement: "A missed tick deadline leaves mast, doors and motor in their fail-safe values in the next tick; a board that stops ticking leaves every output in its fail-safe value.",
        hazards: &["HZ-1", "HZ-2", "HZ-3"],
        judged: Judged::Both("board_mock"),
    },
    Requirement {
        id: "SR-17",
        title: "The journal survives a power loss at any byte",
        statement: "The journal survives power loss at any byte of a write; a torn record is detected, never misread.",
        hazards: &["HZ-8"],
        judged: Judged::ByTest("journal"),
    },
    Requirement {
        id: "SR-18",
        title: "The opened bus is drained in time, or an alert says not",
        statement: "Within 3.5 s after the contactors are commanded open the bus is below 60 V DC, or an alert says that it is not; it is shown dead only while it is.",
        hazards: &["HZ-7"],
        judged: Judged::RunTime,
    },
    Requirement {
        id: "SR-19",
        title: "Auxiliary charging only without thrust, from a healthy bus",
        statement: "The auxiliary battery is charged only with propulsion off, from a live and healthy bus with a healthy pack connected.",
        hazards: &["HZ-5", "HZ-7"],
        judged: Judged::RunTime,
    },
    Requirement {
        id: "SR-20",
        title: "A latched fault stays shown until cleared on purpose",
        statement: "Every latched fault is shown until it is cleared by a held acknowledge; a new one sounds until it is acknowledged; an acknowledge silences and never hides.",
        hazards: &["HZ-5", "HZ-8"],
        judged: Judged::RunTime,
    },
    Requirement {
        id: "SR-21",
        title: "A bus fault is found before the next closing",
        statement: "A welded contactor, a failed pre-charge or a failed discharge is detected before the next closing, and nothing closes while it is latched.",
        hazards: &["HZ-4", "HZ-7"],
        judged: Judged::RunTime,
    },
    Requirement {
        id: "SR-22",
        title: "The heat warning works without the rest",
        statement: "Heat at any detector, or the detector test, sounds the heat warning, whether or not the rest of the system has power.",
        hazards: &["HZ-5"],
        judged: Judged::RunTime,
    },
    Requirement {
        id: "SR-23",
        title: "Mast and doors move only within their airspeed",
        statement: "Mast and doors are driven only at or below their greatest airspeed; an airspeed that is not heard permits no motion.",
        hazards: &["HZ-3"],
        judged: Judged::RunTime,
    },
    Requirement {
        id: "SR-24",
        title: "Bench is slow, by hand, and without torque",
        statement: "In Bench the mast is driven only at the slow pace and only while the selector is held, and the motor is given no torque.",
        hazards: &["HZ-6"],
        judged: Judged::RunTime,
    },
    Requirement {
        id: "SR-25",
        title: "No torque unless the mast is locked",
        statement: "The motor is not enabled unless the mast is locked: a motor that disobeys would turn the blade into the fuselage, or pull on a mast that nothing holds, faster than anything could detect.",
        hazards: &["HZ-1", "HZ-2"],
        judged: Judged::RunTime,
    },
];

#[cfg(test)]
mod tests {
    use super::*;

    const DOC: &str = include_str!("../../../docs/safety-requirements.md");
    const ANALYSIS: &str = include_str!("../../../docs/hazard-analysis.md");

    /// Each section headed by an id: the id, its statement, and the ids on its line
    /// that starts with `key`.
    fn sections(doc: &str, prefix: &str, key: &str) -> Vec<(String, String, Vec<String>)> {
        doc.split("\n## ")
            .filter(|section| section.starts_with(prefix))
            .map(|section| {
                let line = |start: &str| {
                    section
                        .lines()
                        .find_map(|line| line.strip_prefix(start))
                        .unwrap_or_else(|| panic!("no line `{start}` in {section}"))
                };
                let id = section.lines().next().expect("a heading");
                let ids = line(key).split(", ").map(|id| id.trim().to_owned());
                (id.to_owned(), line("> ").to_owned(), ids.collect())
            })
            .collect()
    }

    #[test]
    fn the_document_of_requirements_equals_the_table() {
        let table: Vec<_> = REQUIREMENTS
            .iter()
            .map(|r| {
                let hazards = r.hazards.iter().map(|&id| id.to_owned()).collect();
                (r.id.to_owned(), r.statement.to_owned(), hazards)
            })
            .collect();
        assert_eq!(sections(DOC, "SR-", "- Bounds: "), table);
    }

    #[test]
    fn the_hazard_analysis_equals_the_table_and_names_every_control() {
        let table: Vec<_> = HAZARDS
            .iter()
            .map(|hazard| {
                let controls = REQUIREMENTS
                    .iter()
                    .filter(|r| r.hazards.contains(&hazard.id))
                    .map(|r| r.id.to_owned())
                    .collect();
                (hazard.id.to_owned(), hazard.statement.to_owned(), controls)
            })
            .collect();
        assert_eq!(sections(ANALYSIS, "HZ-", "- Controls: "), table);
    }

    #[test]
    fn every_requirement_bounds_a_hazard_that_exists() {
        for requirement in REQUIREMENTS {
            assert!(!requirement.hazards.is_empty(), "{}", requirement.id);
            for id in requirement.hazards {
                assert!(HAZARDS.iter().any(|h| h.id == *id), "{id}");
            }
        }
    }

    #[test]
    fn the_documents_name_every_rule_and_the_file_it_stands_in() {
        let mut named = 0;
        for (name, source) in [
            ("propulsion", include_str!("propulsion.rs")),
            ("envelope", include_str!("envelope.rs")),
            ("motion", include_str!("motion.rs")),
            ("bus", include_str!("bus.rs")),
            ("charging", include_str!("charging.rs")),
            ("person", include_str!("person.rs")),
            ("thermal", include_str!("thermal.rs")),
            ("emergency", include_str!("emergency.rs")),
            ("signals", include_str!("signals.rs")),
            ("told", include_str!("told.rs")),
            ("alerts", include_str!("alerts.rs")),
        ] {
            for doc in [DOC, ANALYSIS] {
                for after in doc.split(&format!("- Judged: oracle/{name}.rs, `")).skip(1) {
                    let rule = after.split('`').next().expect("a rule");
                    assert!(source.contains(&format!("struct {rule}")), "{name}: {rule}");
                    named += 1;
                }
            }
        }
        let judged = REQUIREMENTS
            .iter()
            .filter(|r| r.judged.at_run_time())
            .count();
        assert_eq!(named, HAZARDS.len() + judged);
    }
}
