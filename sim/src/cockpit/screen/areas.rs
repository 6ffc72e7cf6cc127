//! Where the last picture can be clicked, and on what.

use ratatui::layout::{Position, Rect};

use crate::controls::Push;

/// Something that can be clicked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Target {
    /// The throttle lever; how far along says how far open.
    Throttle,
    /// The mast selector, one of its three positions.
    Selector(Push),
    /// The guarded stop-and-stow switch.
    Stop,
    /// Alert acknowledge.
    Acknowledge,
    /// Heat-detector test.
    HeatTest,
    /// Auxiliary-charge request.
    AuxCharge,
    /// Bench key.
    BenchKey,
    /// The time line; how far along says which tick of all there are.
    TimeLine,
    /// Pause and go on.
    Pause,
    /// A row of the list of matches, armed or active faults.
    DeskRow(super::view::DeskList, usize),
    /// Closes what lies over the flight.
    Close,
}

/// A click that met something.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hit {
    /// What was met.
    pub target: Target,
    /// How far along its width, 0 (left) to 1 (right).
    pub along: f64,
}

/// The clickable areas of one picture.
#[derive(Clone, Debug, Default)]
pub struct Areas {
    areas: Vec<(Rect, Target)>,
}

impl Areas {
    /// Forgets the last picture.
    pub fn clear(&mut self) {
        self.areas.clear();
    }

    /// Records an area; one recorded later lies above those before it.
    pub fn add(&mut self, area: Rect, target: Target) {
        if !area.is_empty() {
            self.areas.push((area, target));
        }
    }

    /// What lies topmost at a place.
    #[must_use]
    pub fn hit(&self, column: u16, row: u16) -> Option<Hit> {
        let place = Position::new(column, row);
        let (area, target) = self
            .areas
            .iter()
            .rev()
            .find(|(area, _)| area.contains(place))?;
        let steps = area.width.saturating_sub(1).max(1);
        Some(Hit {
            target: *target,
            along: f64::from(column - area.x) / f64::from(steps),
        })
    }

    /// Every area, the topmost last.
    pub fn iter(&self) -> impl Iterator<Item = (Rect, Target)> + '_ {
        self.areas.iter().copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_click_meets_what_lies_topmost_and_says_how_far_along() {
        let mut areas = Areas::default();
        areas.add(Rect::new(10, 5, 11, 1), Target::Throttle);
        areas.add(Rect::new(18, 5, 3, 1), Target::Stop);
        let hit = areas.hit(15, 5).expect("the lever");
        assert_eq!(hit.target, Target::Throttle);
        assert!((hit.along - 0.5).abs() < 1e-9);
        assert_eq!(areas.hit(20, 5).map(|hit| hit.target), Some(Target::Stop));
        assert_eq!(areas.hit(9, 5), None);
        assert_eq!(areas.hit(15, 6), None);
    }

    #[test]
    fn an_area_of_no_size_is_not_there_and_a_forgotten_one_neither() {
        let mut areas = Areas::default();
        areas.add(Rect::new(3, 3, 0, 1), Target::Close);
        assert_eq!(areas.hit(3, 3), None);
        areas.add(Rect::new(3, 3, 1, 1), Target::Close);
        assert!(areas.hit(3, 3).is_some_and(|hit| hit.along == 0.0));
        areas.clear();
        assert_eq!(areas.hit(3, 3), None);
    }
}
