//! A trace that is cut, flipped or has lost blocks is read as far as it goes, and says where it
//! does not.

use mastwright_sim::trace::{Damage, Trace, Unreadable, replay};
use mastwright_tests::recording::{assert_reads, assert_same, borders, short, trace};

#[test]
fn a_trace_cut_at_a_border_is_read_up_to_it_and_says_so() {
    let (frames, bytes) = short();
    let borders = borders(&bytes);
    assert!(borders.len() >= 6, "header, blocks, end: {borders:?}");
    for border in &borders[1..borders.len() - 1] {
        let trace = trace(&bytes[..*border]);
        let [Damage::NoEnd { ticks }] = trace.damage() else {
            panic!("cut at {border}: {:?}", trace.damage());
        };
        assert_eq!(u64::from(*ticks), trace.len());
        assert_reads(&trace, &frames);
    }
}

#[test]
fn a_trace_cut_at_any_byte_is_read_up_to_the_block_before() {
    let (frames, bytes) = short();
    let borders = borders(&bytes);
    let mut random = 1_u64;
    for _ in 0..200 {
        random = random
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        let cut = usize::try_from(random >> 33).expect("small") % bytes.len();
        if borders.contains(&cut) {
            continue;
        }
        match Trace::from_bytes("cut.mwt", bytes[..cut].to_vec()) {
            Err(why) => assert!(cut < borders[1], "cut at {cut}: {why}"),
            Ok(trace) => {
                let broken = borders.iter().rev().find(|border| **border < cut);
                let [Damage::Cut { offset, ticks }] = trace.damage() else {
                    panic!("cut at {cut}: {:?}", trace.damage());
                };
                assert_eq!(Some(offset), broken, "cut at {cut}");
                assert_eq!(u64::from(*ticks), trace.len());
                assert_reads(&trace, &frames);
                if !trace.is_empty() {
                    let replayed = replay(&trace).expect("it begins");
                    assert!(replayed.is_identical(), "what is left replays");
                }
            }
        }
    }
}

#[test]
fn a_flipped_byte_costs_its_block_and_names_the_place() {
    let (frames, bytes) = short();
    let borders = borders(&bytes);
    let mut random = 7_u64;
    for _ in 0..200 {
        random = random
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        let place = usize::try_from(random >> 33).expect("small") % bytes.len();
        let mut flipped = bytes.clone();
        flipped[place] ^= 1 << (random >> 16 & 7);
        let Ok(trace) = Trace::from_bytes("flipped.mwt", flipped) else {
            assert!(
                place < borders[1],
                "byte {place}: only the header stops all"
            );
            continue;
        };
        let block = borders.iter().rev().find(|border| **border <= place);
        let at = match trace.damage().first() {
            Some(
                Damage::Corrupt { offset, .. }
                | Damage::Cut { offset, .. }
                | Damage::Torn { offset, .. },
            ) => Some(offset),
            Some(
                Damage::NoEnd { .. }
                | Damage::Missing { .. }
                | Damage::Misplaced { .. }
                | Damage::Again { .. }
                | Damage::Header { .. }
                | Damage::Behind { .. }
                | Damage::Longer { .. },
            )
            | None => None,
        };
        assert_eq!(at, block, "byte {place}: {:?}", trace.damage());
        for tick in trace.ticks() {
            match tick {
                Ok(tick) => {
                    let number = usize::try_from(tick.frame.tick).expect("small");
                    assert_same(&tick.frame, &frames[number]);
                }
                Err(why) => assert!(matches!(why, Unreadable::Lost { .. }), "{why}"),
            }
        }
    }
}

#[test]
fn a_lost_block_ends_a_replay_and_what_comes_after_is_still_read() {
    let (frames, bytes) = short();
    let borders = borders(&bytes);
    let mut broken = bytes;
    broken[borders[2] + 40] ^= 1;
    let trace = trace(&broken);
    let [damage] = trace.damage() else {
        panic!("one block is damaged: {:?}", trace.damage());
    };
    let told = damage.to_string();
    let place = format!("corrupt at byte {}", borders[2]);
    assert!(told.starts_with(&place), "{told}");
    assert!(
        told.contains("ticks 512 to 1023 (5.12 to 10.23 s) are lost"),
        "{told}"
    );
    let replayed = replay(&trace).expect("it begins");
    assert_eq!(replayed.ticks, 512);
    assert!(!replayed.is_identical() && replayed.difference.is_none());
    assert!(trace.at(600).is_err());
    assert_same(&trace.at(1024).expect("behind it").frame, &frames[1024]);
}

#[test]
fn blocks_that_are_missing_doubled_or_out_of_order_are_damage_and_the_rest_is_read() {
    let (frames, bytes) = short();
    let borders = borders(&bytes);
    let blocks: Vec<&[u8]> = borders
        .windows(2)
        .map(|pair| &bytes[pair[0]..pair[1]])
        .collect();
    let line = &bytes[..borders[0]];
    let with = |blocks: &[&[u8]]| trace(&[line, &blocks.concat()].concat());

    let mut missing = blocks.clone();
    missing.remove(2);
    let missing = with(&missing);
    let [Damage::Missing { offset, lost }] = missing.damage() else {
        panic!("{:?}", missing.damage());
    };
    assert_eq!((*offset, *lost), (borders[2], (512, 512)));
    assert_eq!(missing.len(), 1600);
    let lost = missing.at(700).expect_err("it is lost");
    assert!(
        matches!(
            lost,
            Unreadable::Lost {
                from: 512,
                to: 1023,
                ..
            }
        ),
        "all of the ticks lost, not only those from the one asked for: {lost}"
    );
    assert_same(&missing.at(1024).expect("behind it").frame, &frames[1024]);
    assert!(!replay(&missing).expect("it begins").is_identical());

    // The last block: what its end says is missed, though no tick follows.
    let last = (1..blocks.len() - 1)
        .rev()
        .find(|number| blocks[*number][4] == 2);
    let mut cut = blocks.clone();
    cut.remove(last.expect("a block of ticks"));
    let cut = with(&cut);
    assert!(
        matches!(
            cut.damage(),
            [Damage::Missing {
                lost: (1536, 64),
                ..
            }]
        ),
        "{:?}",
        cut.damage()
    );
    let replayed = replay(&cut).expect("it begins");
    assert_eq!(replayed.ticks, 1536);
    assert!(!replayed.is_identical(), "64 ticks were not compared");
    assert!(matches!(cut.at(1599), Err(Unreadable::Lost { .. })));
    assert!(matches!(cut.at(1600), Err(Unreadable::Beyond { .. })));

    let mut swapped = blocks.clone();
    swapped.swap(1, 2);
    let mut doubled = blocks.clone();
    doubled.insert(2, blocks[1]);
    for (read, told) in [
        (with(&swapped), "out of order"),
        (with(&doubled), "a second copy of ticks 0 to 511"),
    ] {
        let [damage] = read.damage() else {
            panic!("{told}: {:?}", read.damage());
        };
        assert!(damage.to_string().contains(told), "{damage}");
        assert_reads(&read, &frames);
        assert!(replay(&read).expect("it begins").is_identical(), "{told}");
    }
}
