use super::*;
use crate::controls::Push;
use crate::scenario::deed::Deed;
use crate::scenario::shipped::Shipped;

fn scenario(name: &str) -> Scenario {
    let shipped = Shipped::named(name).expect("a shipped scenario");
    Scenario::parse(&shipped.file(), shipped.text).expect("shipped scenarios parse")
}

fn flight(ticks: u64) -> Timeline {
    let mut flight = Timeline::new(&scenario("emergency-stow"), 7);
    run(&mut flight, ticks);
    flight
}

fn run(flight: &mut Timeline, ticks: u64) {
    for _ in 0..ticks {
        flight.step();
    }
}

fn throttle(to: f64) -> Order {
    Order::Do(Deed::Throttle { to, over: 0 })
}

fn texts(flight: &Timeline) -> Vec<String> {
    let scenario = scenario("emergency-stow");
    let items = flight.tape().items();
    items.map(|item| item.entry(&scenario).text).collect()
}

#[test]
fn a_rewound_flight_flies_the_same_frames_again() {
    let mut flight = flight(500);
    flight.give(throttle(0.3));
    run(&mut flight, 2500);
    let frames: Vec<Frame> = (0..4000).map(|_| flight.step().clone()).collect();
    let tape = texts(&flight);
    flight.seek(3000);
    assert_eq!(flight.now(), 3000);
    for frame in &frames {
        assert_eq!(flight.step(), frame);
    }
    assert_eq!(texts(&flight), tape, "nothing is told twice");
}

#[test]
fn an_order_in_the_past_leaves_what_came_after_and_can_be_taken_back() {
    let mut flight = flight(1500);
    flight.give(Order::Do(Deed::Stop(true)));
    run(&mut flight, 1500);
    let (first, tape) = (flight.frame().clone(), texts(&flight));
    flight.seek(1200);
    flight.give(throttle(0.1));
    assert_eq!((flight.end(), flight.branch()), (1200, (2, Some(1200))));
    run(&mut flight, 1000);
    assert!(
        flight.frame().truth.propeller.speed > 1.0,
        "no stop on this branch"
    );
    let (second, other) = (flight.frame().clone(), texts(&flight));
    assert!(flight.take_back());
    flight.seek(u64::MAX);
    assert_eq!((flight.frame(), flight.branch()), (&first, (1, None)));
    assert_eq!(texts(&flight), tape);
    assert!(flight.take_back());
    flight.seek(u64::MAX);
    assert_eq!(
        (flight.frame(), flight.branch()),
        (&second, (2, Some(1200)))
    );
    assert_eq!(texts(&flight), other);
}

#[test]
fn orders_given_while_time_stands_still_survive_a_look_back() {
    let mut flight = flight(300);
    flight.give(throttle(0.5));
    flight.seek(10);
    flight.seek(flight.end());
    flight.give(Order::Do(Deed::Select {
        push: Push::Stow,
        lasting: 10,
    }));
    assert_eq!(flight.branch().0, 1, "nothing was left");
    let controls = flight.step().controls;
    assert!((controls.throttle - 0.5).abs() < 1e-12);
    assert_eq!(controls.selector, Push::Stow);
}

#[test]
fn a_fault_is_injected_ended_and_told_and_a_rewind_undoes_both() {
    let fault = crate::faults::catalogue()
        .find(|entry| entry.target.to_string() == "mechanics.mast-jam")
        .expect("in the catalogue")
        .fault();
    let mut flight = flight(100);
    flight.give(Order::Inject(fault));
    flight.step();
    let active: Vec<usize> = flight
        .present()
        .world()
        .active_faults()
        .map(|f| f.0)
        .collect();
    assert_eq!(active.len(), 1);
    flight.give(Order::Clear(active[0]));
    flight.step();
    assert_eq!(flight.present().world().active_faults().count(), 0);
    let told = texts(&flight);
    assert!(
        told.iter()
            .any(|text| text.starts_with("mechanics.mast-jam")),
        "{told:?}"
    );
    assert!(
        told.iter()
            .any(|text| text.starts_with("ended: mechanics.mast-jam")),
        "{told:?}"
    );
    flight.seek(101);
    assert_eq!(flight.present().world().active_faults().count(), 1);
    flight.seek(100);
    assert_eq!(flight.present().world().active_faults().count(), 0);
}

#[test]
fn an_armed_fault_waits_for_its_moment() {
    let fault = crate::faults::catalogue()
        .next()
        .expect("some fault")
        .fault();
    let mut flight = flight(100);
    let when = "time > 2 s".to_owned();
    let moment = crate::scenario::moment::Moment::parse(&when).expect("a moment");
    flight.give(Order::Arm(std::sync::Arc::new(Armed {
        fault,
        moment,
        when,
    })));
    run(&mut flight, 99);
    assert_eq!(flight.present().armed().len(), 1);
    run(&mut flight, 5);
    assert_eq!(flight.present().armed().len(), 0);
    assert_eq!(flight.present().world().active_faults().count(), 1);
}

#[test]
fn an_hour_of_flight_takes_less_than_200_mib_and_a_day_no_more() {
    let mut flight = Timeline::new(&scenario("normal-flight"), 1);
    run(&mut flight, 360_000);
    let hour = flight.bytes();
    assert!(hour < 200 << 20, "{hour} bytes");
    run(&mut flight, 2 * 360_000);
    assert!(flight.keyframes.len() <= 720);
    assert!(flight.bytes() < 200 << 20, "{} bytes", flight.bytes());
}

#[test]
fn keyframes_and_trends_are_thinned_and_every_tick_stays_within_reach() {
    let mut flight = Timeline::new(&scenario("normal-flight"), 1);
    run(&mut flight, 800_000);
    let last = flight.frame().clone();
    flight.seek(123_456);
    assert_eq!(flight.now(), 123_456);
    flight.seek(u64::MAX);
    assert_eq!(flight.frame(), &last);
    let motor = flight.trends().until(Series::Motor, flight.now());
    let span = flight.trends().every() * motor.len() as f64;
    assert!(
        (span - 8000.0).abs() < 2.0 * flight.trends().every(),
        "{span} s"
    );
}

#[test]
fn a_full_log_forgets_its_older_half_and_says_from_where_it_can_be_seen() {
    let mut flight = flight(10);
    for n in 0..MOST_ORDERS + 10 {
        flight.give(throttle((n % 10) as f64 / 10.0));
        if n % 10 == 0 {
            flight.step();
        }
    }
    assert!(flight.orders.len() <= MOST_ORDERS);
    let earliest = flight.earliest();
    assert!(earliest > 0 && earliest <= flight.end());
    let end = flight.frame().clone();
    flight.seek(0);
    assert_eq!(flight.now(), earliest);
    flight.seek(u64::MAX);
    assert_eq!(flight.frame(), &end);
}
