//! Readings of which the next step asks the same come to the same: what tools that explore the
//! controller try once is not a list of its own that could drift from the step.

use std::collections::HashMap;

use super::*;
use crate::bus::walk::STAGES;

fn readings() -> impl Iterator<Item = (BusSensors, packs::Shown)> {
    let volts = [
        None,
        Some(0),
        Some(150_000),
        Some(330_000),
        Some(400_000),
        Some(480_000),
    ];
    let amps = [None, Some(100), Some(700), Some(4_000), Some(100_000)];
    let closed = [None, Some(false), Some(true)];
    let shown = [false, true].into_iter().flat_map(|any_joined| {
        let candidates = [[true, true], [true, false], [false, true], [false, false]];
        candidates.into_iter().flat_map(move |candidates| {
            [
                (None, None),
                (Some(PACK), None),
                (Some(PACK), Some(PACK)),
                (Some(PACK), Some(Millivolts::new(300_000))),
            ]
            .map(|(reference, joined)| packs::Shown {
                candidates,
                any_joined,
                reference,
                joined,
            })
        })
    });
    shown.flat_map(move |shown| {
        volts.into_iter().flat_map(move |volts| {
            amps.into_iter()
                .flat_map(move |amps| closed.map(|closed| (sensors(volts, amps, closed), shown)))
        })
    })
}

fn sensors(volts: Option<i32>, amps: Option<i32>, closed: Option<bool>) -> BusSensors {
    fn said<T: Copy + Default>(value: Option<T>) -> Signal<T> {
        value.map_or_else(|| Signal::fresh(T::default()).invalidated(), Signal::fresh)
    }
    BusSensors {
        voltage: said(volts.map(Millivolts::new)),
        current: said(amps.map(Milliamps::new)),
        insulation: Signal::fresh(KiloOhms::new(1000)),
        main_feedback: said(closed),
    }
}

/// Buses in every stage, its time over or not, what it counts held for its limit or not.
fn buses(config: &Config) -> impl Iterator<Item = Bus> {
    let long = config.discharge_time.ticks();
    STAGES.into_iter().flat_map(move |stage| {
        [(false, false), (false, true), (true, false), (true, true)].map(|(over, held)| {
            let held = if held {
                Sustained::of(long)
            } else {
                Sustained::default()
            };
            Bus {
                stage,
                left: Countdown::of(if over {
                    crate::units::Ticks::ZERO
                } else {
                    long
                }),
                checked: held,
                lost: held,
                left_behind: held,
                drained: held,
                ..Bus::default()
            }
        })
    })
}

#[test]
fn readings_of_which_a_step_asks_the_same_come_to_the_same() {
    let config = Config::default();
    let (mut known, mut same) = (HashMap::new(), 0);
    for before in buses(&config) {
        for (sensors, shown) in readings() {
            for wanted in [None, Some(false), Some(true)] {
                let mut bus = before;
                let mut proven =
                    Condition::NotBench | Condition::BusHealthy | Condition::Pack1Usable;
                let mut active = Faults::empty();
                let reading = bus.observe(&sensors, shown, &config, &mut proven, &mut active);
                let heard = bus.hears(&reading, &config);
                let asks = bus.asks();
                let proofs = (proven & asks.proven, asks.permitted(proven));
                let key = (bus, heard, proofs, active, wanted);
                let mut packs = Packs::default();
                packs.join([shown.any_joined; PACKS]);
                // What the packs themselves show was judged before.
                let key = (key, packs);
                let (drive, asked) =
                    bus.step(wanted, &reading, &mut packs, &config, proven, &mut active);
                let came = (bus, packs, drive, asked, active);
                match known.entry(key) {
                    std::collections::hash_map::Entry::Vacant(first) => {
                        first.insert(came);
                    }
                    std::collections::hash_map::Entry::Occupied(first) => {
                        assert_eq!(*first.get(), came, "{before:?} {sensors:?} {shown:?}");
                        same += 1;
                    }
                }
            }
        }
    }
    assert!(same > 10 * known.len(), "{same} of {}", known.len());
}
