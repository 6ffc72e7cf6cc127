//! What is refused, and what the refusal says.

use super::super::*;

fn refusal(target: &str, kind: &str, strength: Option<f64>, duration: Option<f64>) -> String {
    let target = target.parse().expect("a known target");
    let kind = kind.parse().expect("a known kind");
    let refusal = Fault::new(target, kind, strength, duration);
    refusal.expect_err("it must be refused").to_string()
}

#[test]
fn a_fault_its_target_cannot_have_is_refused_with_those_it_can() {
    assert_eq!(
        refusal("sensor.mast.lock-switch", "offset", Some(1.0), None),
        "sensor.mast.lock-switch cannot be `offset`: it can be stuck, stuck-open, \
         stuck-closed, inverted, intermittent, dropout, invalid, delayed"
    );
    assert_eq!(
        refusal("mechanics.mast-jam", "dead", None, None),
        "mechanics.mast-jam cannot be `dead`: it can be acts"
    );
}

#[test]
fn every_pair_outside_the_catalogue_is_refused_and_its_refusal_lists_the_pairs_inside() {
    let mut refused = 0;
    for target in Target::all() {
        let fitting: Vec<Kind> = catalogue()
            .filter(|entry| entry.target == target)
            .map(|entry| entry.kind)
            .collect();
        for kind in Kind::ALL.iter().filter(|kind| !fitting.contains(kind)) {
            let refusal = Fault::new(target, *kind, None, None);
            let can = fitting.clone();
            let kind = *kind;
            assert_eq!(refusal, Err(Refusal::Kind { target, kind, can }));
            refused += 1;
        }
    }
    assert!(refused > 500, "{refused} pairs refused");
}

#[test]
fn a_sensor_without_a_twin_cannot_be_swapped() {
    assert!(refusal("sensor.mast.position", "swapped", None, None).contains("cannot be `swapped`"));
    assert!(refusal("sensor.airspeed", "swapped", None, None).contains("cannot be `swapped`"));
}

#[test]
fn a_strength_out_of_range_is_refused_with_the_range_and_its_unit() {
    assert_eq!(
        refusal("sensor.mast.position", "stuck-at", Some(1_200.0), None),
        "sensor.mast.position `stuck-at` cannot have strength 1200: give 0 to 1000 permille"
    );
    assert_eq!(
        refusal("sensor.bus.voltage", "drift", Some(0.0), None),
        "sensor.bus.voltage `drift` cannot have strength 0: give -600 to 600 V/s, \
         and no nearer to zero than 0.001"
    );
    for entry in catalogue() {
        let Some(scale) = entry.strength else {
            continue;
        };
        for strength in [scale.min, scale.max, scale.default] {
            Fault::new(entry.target, entry.kind, Some(strength), None).expect("in range");
        }
        for strength in [scale.min - 0.1, scale.max + 0.1, f64::NAN, f64::INFINITY] {
            Fault::new(entry.target, entry.kind, Some(strength), None).expect_err("out of range");
        }
    }
}

#[test]
fn what_would_be_ignored_is_refused() {
    assert_eq!(
        refusal("sensor.mast.position", "stuck", Some(5.0), None),
        "sensor.mast.position `stuck` takes no strength: leave it out"
    );
    assert_eq!(
        refusal("power", "reset", None, Some(1.0)),
        "power `reset` takes no duration: leave it out"
    );
    let stuck = Fault::new(Target::Link, Kind::Stuck, None, None).expect("a link can");
    assert_eq!(
        stuck.with_cycle(1.0).expect_err("no cycle").to_string(),
        "link `stuck` takes no cycle: leave it out"
    );
}

#[test]
fn a_duration_or_cycle_of_no_time_or_no_end_is_refused() {
    for seconds in [0.0, -1.0, 0.001, f64::NAN, f64::INFINITY, 1e9] {
        let lost = Fault::new(Target::Power, Kind::BrownOut, None, Some(seconds));
        assert!(matches!(lost, Err(Refusal::Time { .. })), "{seconds}");
        let flicker = Fault::new(Target::Power, Kind::Intermittent, None, None);
        let flicker = flicker.expect("a supply can").with_cycle(seconds);
        assert!(matches!(flicker, Err(Refusal::Time { .. })), "{seconds}");
    }
}

#[test]
fn an_unknown_name_is_refused_with_the_nearest_names() {
    let unknown = "sensor.mast.possition".parse::<Target>();
    let unknown = unknown.expect_err("no such target");
    assert_eq!(unknown.nearest[0], "sensor.mast.position");
    let text = unknown.to_string();
    assert!(
        text.starts_with(
            "no fault target is called `sensor.mast.possition`: did you mean sensor.mast.position,"
        ),
        "{text}"
    );
    let kind = "frozen".parse::<Kind>().expect_err("no such kind");
    assert_eq!(kind.what, "fault kind");
}

#[test]
fn a_written_fault_is_validated_when_read() {
    let read = |text: &str| serde_json::from_str::<Fault>(text).map_err(|e| e.to_string());
    assert!(read(r#"{"target":"power","kind":"brown-out","duration":0.5}"#).is_ok());
    let refused = [
        (
            r#"{"target":"power","kind":"offset"}"#,
            "cannot be `offset`",
        ),
        (r#"{"target":"pover","kind":"reset"}"#, "did you mean power"),
        (
            r#"{"target":"power","kind":"reset","strenth":1}"#,
            "unknown field `strenth`",
        ),
        (
            r#"{"target":"sensor.speed","kind":"stuck"}"#,
            "sensor.propeller.speed",
        ),
    ];
    for (text, reason) in refused {
        let error = read(text).expect_err("it must be refused");
        assert!(error.contains(reason), "{error}");
    }
}

#[test]
fn every_sentence_is_one_plain_sentence() {
    for entry in catalogue() {
        let sentence = entry.sentence();
        assert!(sentence.starts_with("The ") && sentence.ends_with('.'));
        assert_eq!(sentence.matches('.').count(), 1, "{sentence}");
        let given = sentence.contains("given") || sentence.contains("this far");
        let has_number = entry.strength.is_some() || entry.kind == Kind::BrownOut;
        let says = given || sentence.contains("(0)");
        assert_eq!(says, has_number, "{sentence}");
    }
}
