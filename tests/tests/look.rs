use mastwright_core::{Halt, State};
use mastwright_tests::screens::*;
#[test]
fn look() {
    let out = std::env::var("LOOK").unwrap();
    let stow = Moment::of("emergency-stow", |f| {
        f.outputs.indications.state == State::StowMast && f.truth.mast.position < 0.5
    });
    let thrust = Moment::of("emergency-stow", |f| {
        f.outputs.indications.state == State::Thrust && f.seconds() > 14.0
    });
    let halted = Moment::of("parking-sensor-fails", |f| {
        f.outputs.indications.state == State::Halted(Halt::NotParked)
    });
    let fans = Moment::of("fans-fail-on-take-off", |f| {
        f.outputs.indications.faults.len() >= 2
    });
    let rest = Moment::of("normal-flight", |f| f.tick == 300);
    for (name, m) in [
        ("stow", &stow),
        ("thrust", &thrust),
        ("halted", &halted),
        ("fans", &fans),
        ("rest", &rest),
    ] {
        for size in [(80, 24), (120, 40), (200, 60)] {
            for compare in [false, true] {
                let mut v = m.view();
                v.compare = compare;
                let (b, _) = drawn(&v, size);
                let c = if compare { "-cmp" } else { "" };
                std::fs::write(format!("{out}/{name}-{}{c}.txt", size.0), text(&b)).unwrap();
                std::fs::write(
                    format!("{out}/{name}-{}{c}.svg", size.0),
                    mastwright_sim::cockpit::screen::picture::svg(&b, name),
                )
                .unwrap();
            }
        }
    }
}
