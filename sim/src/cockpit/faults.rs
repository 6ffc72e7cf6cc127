//! The fault desk: search every fault there is, set one up, inject or arm it, end it.

use std::sync::Arc;

use super::desk::{Desk, MOST_FAULTS};
use super::screen::view::DeskList;
use super::timeline::{Armed, Order};
use crate::faults::{Entry, Fault, catalogue};
use crate::scenario::moment::Moment;

/// Durations to choose from, s; none: until it is ended.
const DURATIONS: [Option<f64>; 9] = [
    None,
    Some(0.1),
    Some(0.5),
    Some(1.0),
    Some(2.0),
    Some(5.0),
    Some(10.0),
    Some(30.0),
    Some(60.0),
];
/// Moments to choose from, as a scenario writes them; none: at once.
const MOMENTS: [Option<&str>; 9] = [
    None,
    Some("mast passes 50 % while deploying"),
    Some("mast passes 50 % while stowing"),
    Some("state is Thrust"),
    Some("state is Thrust for 5 s"),
    Some("state is StowBrake"),
    Some("state is StowPark"),
    Some("state is StowMast"),
    Some("doors < 50 %"),
];
/// Steps from the least strength to the greatest.
const STEPS: u32 = 20;
/// Longest search.
const LETTERS: usize = 40;

/// A fault there is, in words.
#[derive(Clone, Debug)]
pub struct Listed {
    entry: Entry,
    /// Target and kind.
    pub name: String,
    /// What happens then.
    pub words: String,
}

/// The fault desk.
#[derive(Clone, Debug)]
pub struct FaultDesk {
    all: Vec<Listed>,
    search: String,
    matches: Vec<usize>,
    focus: DeskList,
    selected: usize,
    strength: Option<f64>,
    duration: usize,
    moment: usize,
}

impl Default for FaultDesk {
    fn default() -> Self {
        let listed = |entry: Entry| Listed {
            name: format!("{} {}", entry.target, entry.kind),
            words: entry.sentence(),
            entry,
        };
        let all: Vec<Listed> = catalogue().map(listed).collect();
        Self {
            matches: (0..all.len()).collect(),
            all,
            search: String::new(),
            focus: DeskList::Matches,
            selected: 0,
            strength: None,
            duration: 0,
            moment: 0,
        }
    }
}

impl FaultDesk {
    /// What is searched for.
    #[must_use]
    pub fn search(&self) -> &str {
        &self.search
    }

    /// The faults that match, in the order of the catalogue.
    pub fn matches(&self) -> impl Iterator<Item = &Listed> {
        self.matches.iter().map(|index| &self.all[*index])
    }

    /// How many faults there are.
    #[must_use]
    pub const fn total(&self) -> usize {
        self.all.len()
    }

    /// The list in which a row is chosen, and the row.
    #[must_use]
    pub const fn chosen(&self) -> (DeskList, usize) {
        (self.focus, self.selected)
    }

    /// One letter more to search for.
    pub fn type_letter(&mut self, letter: char) {
        if self.search.chars().count() < LETTERS {
            self.search.push(letter);
            self.find();
        }
    }

    /// One letter less.
    pub fn rub(&mut self) {
        self.search.pop();
        self.find();
    }

    /// Searches anew: every word must stand in the name or the sentence.
    fn find(&mut self) {
        let search = self.search.to_lowercase();
        let matches = |listed: &Listed| {
            let words = format!("{} {}", listed.name, listed.words).to_lowercase();
            search.split_whitespace().all(|word| words.contains(word))
        };
        let found = self.all.iter().enumerate();
        self.matches = found
            .filter(|(_, listed)| matches(listed))
            .map(|(index, _)| index)
            .collect();
        self.choose(DeskList::Matches, 0);
    }

    /// Chooses a row of a list.
    pub fn choose(&mut self, list: DeskList, row: usize) {
        let other = self.focus != list || self.selected != row;
        self.focus = list;
        self.selected = row;
        if other && list == DeskList::Matches {
            self.strength = None;
        }
    }

    /// The next list.
    pub fn next_list(&mut self) {
        let next = match self.focus {
            DeskList::Matches => DeskList::Armed,
            DeskList::Armed => DeskList::Active,
            DeskList::Active => DeskList::Matches,
        };
        self.choose(next, 0);
    }

    /// Up to the row above, or down to the one below.
    pub fn move_row(&mut self, desk: &Desk, down: bool) {
        let rows = self.rows(desk);
        let row = if down {
            (self.selected + 1).min(rows.saturating_sub(1))
        } else {
            self.selected.saturating_sub(1)
        };
        self.choose(self.focus, row);
    }

    /// Keeps the chosen row within its list, which time may have shortened.
    pub fn settle(&mut self, desk: &Desk) {
        self.selected = self.selected.min(self.rows(desk).saturating_sub(1));
    }

    fn rows(&self, desk: &Desk) -> usize {
        match self.focus {
            DeskList::Matches => self.matches.len(),
            DeskList::Armed => desk.present().armed().len(),
            DeskList::Active => desk.present().world().active_faults().count(),
        }
    }

    fn match_chosen(&self) -> Option<&Listed> {
        let row = if self.focus == DeskList::Matches {
            self.selected
        } else {
            0
        };
        self.matches.get(row).map(|index| &self.all[*index])
    }

    /// A step stronger, or weaker.
    pub fn scale(&mut self, stronger: bool) {
        let Some(scale) = self.match_chosen().and_then(|listed| listed.entry.strength) else {
            return;
        };
        let now = self.strength.unwrap_or(scale.default);
        let step = (scale.max - scale.min) / f64::from(STEPS);
        let marks = (0..=STEPS).map(|n| scale.min + step * f64::from(n));
        let mut taken = marks.filter(|mark| scale.takes(*mark));
        let slack = step * 1e-6;
        let next = if stronger {
            taken.find(|mark| *mark > now + slack)
        } else {
            taken.rfind(|mark| *mark < now - slack)
        };
        self.strength = Some(next.unwrap_or(now));
    }

    /// Lasts longer, or shorter; the longest is until it is ended.
    pub fn last(&mut self, longer: bool) {
        // The list begins with "until it is ended", which is longer than its last.
        let count = DURATIONS.len();
        self.duration = match (longer, self.duration) {
            (true, 0) => 0,
            (true, n) => (n + 1) % count,
            (false, 0) => count - 1,
            (false, n) => (n - 1).max(1),
        };
    }

    /// The next moment at which it could begin.
    pub const fn next_moment(&mut self) {
        self.moment = (self.moment + 1) % MOMENTS.len();
    }

    /// The fault that is chosen and set up.
    #[must_use]
    pub fn fault(&self) -> Option<Fault> {
        let entry = self.match_chosen()?.entry;
        let duration = DURATIONS[self.duration].filter(|_| entry.lasts);
        Fault::new(entry.target, entry.kind, self.strength, duration).ok()
    }

    /// How the chosen fault would begin, last and how strong it is.
    #[must_use]
    pub fn order(&self) -> String {
        let Some(listed) = self.match_chosen() else {
            return "nothing matches: Backspace takes letters back".to_owned();
        };
        let strength = listed.entry.strength.map_or_else(String::new, |scale| {
            let much = self.strength.unwrap_or(scale.default);
            format!("strength {much:.4} {}, ", scale.unit)
        });
        let strength = strength.replace(".0000 ", " ");
        let duration = match (listed.entry.lasts, DURATIONS[self.duration]) {
            (false, _) => "over at once".to_owned(),
            (true, None) => "until it is ended".to_owned(),
            (true, Some(long)) => format!("for {long} s"),
        };
        let moment = MOMENTS[self.moment].unwrap_or("now");
        format!("{strength}{duration}; begins: {moment}")
    }

    /// Injects or arms the match that is chosen, or ends the armed or active one; what is
    /// to be said about it.
    pub fn act(&mut self, desk: &mut Desk) -> Option<String> {
        match self.focus {
            DeskList::Matches => self.begin(desk),
            DeskList::Armed => {
                if self.selected < desk.present().armed().len() {
                    desk.give(Order::Disarm(self.selected));
                }
                None
            }
            DeskList::Active => {
                let active = desk.present().world().active_faults().nth(self.selected);
                if let Some((number, _)) = active {
                    desk.give(Order::Clear(number));
                }
                None
            }
        }
    }

    fn begin(&self, desk: &mut Desk) -> Option<String> {
        let fault = self.fault()?;
        if !desk.takes_faults() {
            return Some(format!(
                "this flight has had {MOST_FAULTS} faults: start anew or go back before some of them"
            ));
        }
        let Some(when) = MOMENTS[self.moment] else {
            desk.inject(fault);
            return Some(format!("injected: {fault}"));
        };
        let moment = Moment::parse(when).expect("the moments offered are tested");
        desk.give(Order::Arm(Arc::new(Armed {
            fault,
            moment,
            when: when.to_owned(),
        })));
        Some(format!("armed: {fault}, when {when}"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Scenario;
    use crate::scenario::shipped::Shipped;

    fn desk() -> Desk {
        let shipped = Shipped::named("normal-flight").expect("shipped");
        let scenario = Scenario::parse(&shipped.file(), shipped.text).expect("it parses");
        Desk::new(scenario, 1)
    }

    fn search(words: &str) -> FaultDesk {
        let mut faults = FaultDesk::default();
        words.chars().for_each(|letter| faults.type_letter(letter));
        faults
    }

    #[test]
    fn every_word_searched_for_stands_in_each_match() {
        let faults = search("mast JAM");
        assert!(
            faults
                .matches()
                .any(|listed| listed.name == "mechanics.mast-jam acts")
        );
        assert!(faults.matches().count() < faults.total());
        assert_eq!(search("zzzz").matches().count(), 0);
        assert!(search("zzzz").fault().is_none());
    }

    #[test]
    fn letters_taken_back_bring_the_matches_back() {
        let mut faults = search("xyzzy");
        for _ in 0..5 {
            faults.rub();
        }
        assert_eq!(faults.matches().count(), faults.total());
    }

    #[test]
    fn every_fault_there_is_can_be_set_up_at_any_strength_duration_and_moment() {
        let mut faults = FaultDesk::default();
        for row in 0..faults.total() {
            faults.choose(DeskList::Matches, row);
            for stronger in [true, false] {
                for _ in 0..2 * STEPS {
                    faults.scale(stronger);
                    faults.last(stronger);
                    faults.next_moment();
                    assert!(faults.fault().is_some(), "{}", faults.order());
                }
            }
        }
    }

    #[test]
    fn every_moment_offered_can_be_read() {
        for when in MOMENTS.into_iter().flatten() {
            assert!(Moment::parse(when).is_ok(), "{when}");
        }
    }

    #[test]
    fn durations_go_up_to_until_it_is_ended_and_down_to_the_shortest() {
        let mut faults = FaultDesk::default();
        for _ in 0..20 {
            faults.last(false);
        }
        assert_eq!(DURATIONS[faults.duration], Some(0.1));
        for _ in 0..20 {
            faults.last(true);
        }
        assert_eq!(DURATIONS[faults.duration], None);
    }

    #[test]
    fn a_fault_is_injected_found_among_the_active_and_ended() {
        let mut desk = desk();
        let mut faults = search("mast-jam");
        assert!(
            faults
                .act(&mut desk)
                .is_some_and(|said| said.starts_with("injected"))
        );
        desk.step();
        faults.next_list();
        faults.next_list();
        assert_eq!(faults.chosen(), (DeskList::Active, 0));
        faults.act(&mut desk);
        desk.step();
        assert_eq!(desk.present().world().active_faults().count(), 0);
    }

    #[test]
    fn a_fault_is_armed_and_disarmed() {
        let mut desk = desk();
        let mut faults = search("mast-jam");
        faults.next_moment();
        assert!(
            faults
                .act(&mut desk)
                .is_some_and(|said| said.starts_with("armed"))
        );
        assert_eq!(desk.present().armed().len(), 1);
        faults.next_list();
        faults.act(&mut desk);
        assert!(desk.present().armed().is_empty());
    }
}
