//! Tests of the whole catalogue; those of single kinds stand in the modules below.

mod actuators;
mod around;
mod refusals;
mod sensors;

use mastwright_core::Inputs;
use mastwright_core::heat_warning::HeatInputs;
use mastwright_core::outputs::{DoorDrive, Drives, Fans, MastDrive, Motor, Pace};
use mastwright_core::signal::Age;
use mastwright_core::units::{Permille, Rpm};

use super::channel::Sample;
use super::*;
use crate::controls::{Controls, Push};
use crate::frame::TICK;
use crate::plant::defects::Defects;

/// When the faults of these tests begin, and for how many ticks they last.
const ONSET: u64 = 30;
const LASTING: u64 = 120;
const TICKS: u64 = 250;

/// Everything a fault can change, in one tick.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Seen {
    controls: Controls,
    inputs: Inputs,
    powered: bool,
    heat: HeatInputs,
    flipped: Option<u32>,
    drives: Drives,
    mechanics: Defects,
}

/// Lively sound readings: every channel changes, and twins differ.
fn readings(tick: u64) -> Inputs {
    let mut inputs = Inputs::default();
    for (index, id) in SensorId::ALL.iter().enumerate() {
        let place = tick * 3 + index as u64 * 17;
        let count = match id.channel() {
            Channel::Contact => (tick / (5 + index as u64 % 7) + index as u64) as i32 % 2,
            Channel::Number(number) => {
                let share = (place % 100) as f64 / 100.0;
                number.told((number.min + share * (number.max - number.min)) * number.counts)
            }
        };
        let sample = Sample {
            count,
            age: Age::new((tick % 3) as u8),
            valid: true,
        };
        id.write(&mut inputs, sample);
    }
    inputs
}

/// Lively sound readings of the heat detectors.
fn feelings(tick: u64) -> HeatInputs {
    let mut inputs = HeatInputs::default();
    for (index, id) in (0_u64..).zip(DetectorId::ALL) {
        let count = match id.channel() {
            Channel::Contact => (tick / 5) as i32 % 2,
            Channel::Number(_) => (200 + index * 50 + tick % 60) as i32,
        };
        let sample = Sample {
            count,
            age: Age::new(0),
            valid: true,
        };
        id.write(&mut inputs, sample);
    }
    inputs
}

/// Lively commands: every actuator is driven every way.
fn commands(tick: u64) -> Drives {
    let phase = tick / 7;
    let on = |n: u64| (phase + n).is_multiple_of(2);
    let mut drives = Drives {
        motor: match phase % 6 {
            0 => Motor::Free,
            1 => Motor::Thrust(Permille::new(800)),
            2 => Motor::Short,
            3 => Motor::Brake(Permille::new(600)),
            4 => Motor::Creep(Rpm::new(15)),
            _ => Motor::Hold(Permille::FULL),
        },
        motor_enable: on(0),
        mast: match phase % 3 {
            0 => MastDrive::Off,
            1 => MastDrive::Extend(Pace::Full),
            _ => MastDrive::Retract(Pace::Full),
        },
        doors: match phase % 3 {
            0 => DoorDrive::Open,
            1 => DoorDrive::Off,
            _ => DoorDrive::Close,
        },
        mast_power: on(1),
        door_power: on(1),
        fans: if on(0) { Fans::On } else { Fans::Off },
        aux_charger: on(1),
        ..Drives::default()
    };
    drives.bus.packs = [on(0), on(1)];
    drives.bus.precharge = on(1);
    drives.bus.main = on(0);
    drives.bus.discharge = on(1);
    drives
}

/// Lively hands.
fn hands(tick: u64) -> Controls {
    Controls {
        throttle: (tick % 50) as f64 / 100.0,
        selector: [Push::Hold, Push::Deploy, Push::Stow][(tick / 9 % 3) as usize],
        stop: tick / 20 % 2 == 1,
        ..Controls::default()
    }
}

fn pass(injector: &mut Injector, tick: u64) -> Seen {
    let mut seen = Seen {
        controls: hands(tick),
        inputs: readings(tick),
        powered: true,
        heat: feelings(tick),
        flipped: None,
        drives: commands(tick),
        mechanics: Defects::default(),
    };
    injector.corrupt_controls(&mut seen.controls);
    injector.corrupt_inputs(&mut seen.inputs);
    injector.corrupt_heat(&mut seen.heat);
    seen.powered = injector.powered();
    seen.flipped = injector.bit_flip();
    injector.corrupt_drives(&mut seen.drives);
    seen.mechanics = injector.defects();
    injector.tick();
    seen
}

/// A run in which every given fault begins at the onset.
fn run(faults: Vec<Fault>, seed: u64) -> Vec<Seen> {
    let count = faults.len();
    let mut injector = Injector::new(faults, seed);
    let mut seen = Vec::new();
    for tick in 0..TICKS {
        if tick == ONSET {
            (0..count).for_each(|index| injector.start(index));
        }
        seen.push(pass(&mut injector, tick));
    }
    assert_eq!(injector.active(), &[] as &[usize], "every fault has healed");
    seen
}

/// The entry's default fault, lasting as long as these tests say if it can.
fn lasting(entry: &Entry) -> Fault {
    let fault = entry.fault();
    if entry.lasts {
        fault
            .lasting(LASTING as f64 * TICK)
            .expect("a duration in range")
    } else {
        fault
    }
}

/// `seen` with what a fault of `target` may change put back as it was in `clean`.
fn put_back(target: Target, seen: &Seen, clean: &Seen) -> Seen {
    let mut restored = *seen;
    let mut restore = |ids: &[SensorId]| {
        for id in ids {
            id.write(&mut restored.inputs, id.read(&clean.inputs));
        }
    };
    match target {
        Target::Sensor(id) => {
            restore(&[id]);
            restore(id.twin().as_slice());
        }
        Target::Detector(id) => id.write(&mut restored.heat, id.read(&clean.heat)),
        Target::Link => restore(supply::LINKED),
        Target::Actuator(_) => restored.drives = clean.drives,
        Target::Mechanics(_) => restored.mechanics = clean.mechanics,
        Target::Pilot(_) => restored.controls = clean.controls,
        Target::Power => restored.powered = clean.powered,
        Target::Memory => restored.flipped = clean.flipped,
        Target::Processor => restored.inputs.missed_deadline = clean.inputs.missed_deadline,
    }
    restored
}

#[test]
fn every_entry_of_the_catalogue_changes_its_target_and_nothing_else_and_heals() {
    let clean = run(Vec::new(), 1);
    for entry in catalogue() {
        let fault = lasting(&entry);
        let seen = run(vec![fault], 1);
        let healed = ONSET + if entry.lasts { LASTING } else { 1 };
        let mut changed = 0;
        for (tick, (seen, clean)) in (0..).zip(seen.iter().zip(&clean)) {
            if (ONSET..healed).contains(&tick) {
                changed += u32::from(seen != clean);
                assert_eq!(
                    &put_back(entry.target, seen, clean),
                    clean,
                    "{fault}, tick {tick}: more than its target changed"
                );
            } else {
                assert_eq!(
                    seen, clean,
                    "{fault}, tick {tick}: changed while not active"
                );
            }
        }
        assert!(changed > 0, "{fault} changes nothing that can be seen");
    }
}

#[test]
fn the_actuator_named_is_the_one_that_fails() {
    let clean = commands(8);
    for id in ActuatorId::ALL {
        let [dead, on] = [Kind::Dead, Kind::StuckOn].map(|kind| {
            let fault = Fault::new(Target::Actuator(*id), kind, None, None);
            let mut injector = Injector::new(vec![fault.expect("every actuator can")], 1);
            injector.start(0);
            let mut drives = clean;
            injector.corrupt_drives(&mut drives);
            drives
        });
        let differing: Vec<&str> = members(&dead, &on);
        assert_eq!(differing, [id.name()]);
    }
}

/// Names of the actuators whose commands differ.
fn members(one: &Drives, other: &Drives) -> Vec<&'static str> {
    let differ = [
        ("mast-drive", one.mast != other.mast),
        ("door-drive", one.doors != other.doors),
        ("mast-power", one.mast_power != other.mast_power),
        ("door-power", one.door_power != other.door_power),
        ("motor", one.motor != other.motor),
        ("motor-enable", one.motor_enable != other.motor_enable),
        ("pack1-contactor", one.bus.packs[0] != other.bus.packs[0]),
        ("pack2-contactor", one.bus.packs[1] != other.bus.packs[1]),
        ("precharge", one.bus.precharge != other.bus.precharge),
        ("main-contactor", one.bus.main != other.bus.main),
        ("discharge", one.bus.discharge != other.bus.discharge),
        ("fans", one.fans != other.fans),
        ("aux-charger", one.aux_charger != other.aux_charger),
    ];
    let names = differ.iter().filter(|(_, differs)| *differs);
    names.map(|(name, _)| *name).collect()
}

#[test]
fn all_faults_at_once_in_one_run_heal_without_trace() {
    let faults: Vec<Fault> = catalogue().map(|entry| lasting(&entry)).collect();
    let clean = run(Vec::new(), 5);
    let seen = run(faults, 5);
    let healed = (ONSET + LASTING) as usize;
    assert_ne!(seen[ONSET as usize], clean[ONSET as usize]);
    assert_eq!(seen[healed..], clean[healed..]);
}

#[test]
fn the_same_seed_gives_the_same_bytes_and_another_seed_others() {
    let faults: Vec<Fault> = catalogue().map(|entry| lasting(&entry)).collect();
    let bytes = |seed| format!("{:?}", run(faults.clone(), seed));
    assert_eq!(bytes(11), bytes(11));
    assert_ne!(bytes(11), bytes(12));
}

#[test]
fn a_clone_goes_on_as_the_original_does() {
    let faults: Vec<Fault> = catalogue().map(|entry| lasting(&entry)).collect();
    let count = faults.len();
    let mut original = Injector::new(faults, 3);
    (0..count).for_each(|index| original.start(index));
    for tick in 0..40 {
        pass(&mut original, tick);
    }
    let mut copy = original.clone();
    for tick in 40..TICKS {
        assert_eq!(pass(&mut copy, tick), pass(&mut original, tick));
    }
    assert_eq!(copy, original);
}

#[test]
fn every_name_reads_back_and_stands_once() {
    let mut names: Vec<String> = Target::all().map(|target| target.to_string()).collect();
    for (target, name) in Target::all().zip(&names) {
        assert_eq!(name.parse(), Ok(target));
        let quoted = format!("\"{name}\"");
        assert_eq!(serde_json::to_string(&target).expect("a string"), quoted);
        let read: Target = serde_json::from_str(&quoted).expect("a known name");
        assert_eq!(read, target);
    }
    for kind in Kind::ALL {
        assert_eq!(kind.name().parse(), Ok(*kind));
    }
    names.sort();
    let all = names.len();
    names.dedup();
    assert_eq!(names.len(), all);
}

#[test]
fn every_default_fault_reads_back_from_what_it_was_written_as() {
    for entry in catalogue() {
        let fault = lasting(&entry);
        let text = serde_json::to_string(&fault).expect("a fault is plain data");
        let read: Fault = serde_json::from_str(&text).expect("it was just written");
        assert_eq!(read, fault, "{text}");
    }
}

#[test]
fn the_catalogue_leaves_no_target_and_no_kind_out_and_names_each_pair_once() {
    let all: Vec<Entry> = catalogue().collect();
    for target in Target::all() {
        assert!(all.iter().any(|entry| entry.target == target), "{target}");
    }
    for kind in Kind::ALL {
        assert!(all.iter().any(|entry| entry.kind == *kind), "{kind}");
    }
    let mut pairs: Vec<(Target, Kind)> = all.iter().map(|e| (e.target, e.kind)).collect();
    pairs.sort();
    pairs.dedup();
    assert_eq!(pairs.len(), all.len());
}
