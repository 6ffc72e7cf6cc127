//! Faults of people: controls left, leaned on, mistaken or fumbled.
//!
//! A hand fails in no other way than the one its row names: it is `acts`, at whatever
//! moment is asked for, which makes any of them the wrong moment. What breaks between
//! hand and controller is a fault of the controls' channels or of the link.

use super::catalogue::{Entry, Scale};
use super::kind::Kind;
use super::named::named;
use super::target::Target;
use crate::controls::{Controls, Push};

named! {
    /// A way in which the pilot's hands err.
    PilotId {
        ThrottleLeftOpen = "throttle-left-open", "pilot";
        SelectorChatter = "selector-chatter", "pilot";
        SelectorMistaken = "selector-mistaken", "pilot";
        DeployHeld = "deploy-held", "pilot";
        StowHeld = "stow-held", "pilot";
        StopThrown = "stop-thrown", "pilot";
        StopForgotten = "stop-forgotten", "pilot";
        BenchKeyLeftOn = "bench-key-left-on", "pilot";
        AcknowledgeHeld = "acknowledge-held", "pilot";
        HeatTestHeld = "heat-test-held", "pilot";
        ChargeLeftOn = "charge-left-on", "pilot";
        OrdersContradict = "orders-contradict", "pilot";
        ControlsSpammed = "controls-spammed", "pilot";
    }
}

/// What a hand does to the controls, given a strength and a number drawn anew with
/// every turn of its cycle.
pub(super) type Hand = fn(&mut Controls, f64, u64);

struct Row {
    does: &'static str,
    strength: Option<Scale>,
    cycle: Option<f64>,
    hand: Hand,
}

const fn steady(does: &'static str, hand: Hand) -> Row {
    Row {
        does,
        strength: None,
        cycle: None,
        hand,
    }
}

const THROTTLE: Scale = Scale {
    unit: "permille of lever travel",
    min: 1.0,
    max: 1_000.0,
    default: 300.0,
    least: 1.0,
};

/// Mean cycle of hurried hands unless another is given, s.
const HURRY: f64 = 0.3;

const fn row(id: PilotId) -> Row {
    match id {
        PilotId::ThrottleLeftOpen => Row {
            does: "leaves the throttle open at least this far",
            strength: Some(THROTTLE),
            cycle: None,
            hand: |controls, strength, _| {
                controls.throttle = controls.throttle.max(strength / 1_000.0);
            },
        },
        PilotId::SelectorChatter => Row {
            does: "flips the mast selector at random between its places",
            strength: None,
            cycle: Some(HURRY),
            hand: |controls, _, draw| controls.selector = place(draw),
        },
        PilotId::SelectorMistaken => steady(
            "mistakes deploy for stow and stow for deploy",
            |controls, _, _| {
                controls.selector = match controls.selector {
                    Push::Hold => Push::Hold,
                    Push::Deploy => Push::Stow,
                    Push::Stow => Push::Deploy,
                };
            },
        ),
        PilotId::DeployHeld => steady("keeps the selector pushed to deploy", |controls, _, _| {
            controls.selector = Push::Deploy;
        }),
        PilotId::StowHeld => steady("keeps the selector pushed to stow", |controls, _, _| {
            controls.selector = Push::Stow;
        }),
        PilotId::StopThrown => steady(
            "throws the stop-and-stow switch at the wrong moment",
            |controls, _, _| controls.stop = true,
        ),
        PilotId::StopForgotten => steady(
            "forgets the stop-and-stow switch: it is not thrown when it should be",
            |controls, _, _| controls.stop = false,
        ),
        PilotId::BenchKeyLeftOn => steady("leaves the bench key on", |controls, _, _| {
            controls.bench_key = true;
        }),
        PilotId::AcknowledgeHeld => steady("leans on the acknowledge button", |controls, _, _| {
            controls.acknowledge = true;
        }),
        PilotId::HeatTestHeld => steady(
            "leans on the heat detectors' test button",
            |controls, _, _| controls.heat_test = true,
        ),
        PilotId::ChargeLeftOn => {
            steady("leaves the auxiliary charge switch on", |controls, _, _| {
                controls.aux_charge = true
            })
        }
        PilotId::OrdersContradict => Row {
            does: "pushes to deploy, opens the throttle at least this far and throws the \
                   stop-and-stow switch, all at once",
            strength: Some(THROTTLE),
            cycle: None,
            hand: |controls, strength, _| {
                controls.throttle = controls.throttle.max(strength / 1_000.0);
                controls.selector = Push::Deploy;
                controls.stop = true;
            },
        },
        PilotId::ControlsSpammed => Row {
            does: "works every control in a hurry, at random and against one another",
            strength: None,
            cycle: Some(HURRY),
            hand: |controls, _, draw| {
                let bit = |n: u32| draw >> n & 1 == 1;
                *controls = Controls {
                    throttle: (draw >> 32 & 0x3ff) as f64 / 1_023.0,
                    selector: place(draw),
                    stop: bit(45),
                    bench_key: bit(46),
                    acknowledge: bit(47),
                    heat_test: bit(48),
                    aux_charge: bit(49),
                };
            },
        },
    }
}

fn place(draw: u64) -> Push {
    [Push::Hold, Push::Deploy, Push::Stow][(draw % 3) as usize]
}

/// The one fault this hand has.
pub(super) fn entries(id: PilotId) -> Vec<Entry> {
    let row = row(id);
    vec![Entry {
        target: Target::Pilot(id),
        kind: Kind::Acts,
        does: row.does,
        strength: row.strength,
        cycle: row.cycle,
        lasts: true,
    }]
}

/// What the hand does.
pub(super) const fn hand(id: PilotId) -> Hand {
    row(id).hand
}
