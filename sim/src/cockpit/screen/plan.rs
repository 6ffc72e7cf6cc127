//! Where everything stands: three plans for three sizes of screen.

use ratatui::layout::Rect;

use super::LEAST;
use super::pen::{below, split};

/// Where everything stands. A panel without room is empty and is not drawn.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct Plan {
    /// State and sentence.
    pub(super) head: Rect,
    /// All between head and foot: what a cover may lie over.
    pub(super) body: Rect,
    /// Side view.
    pub(super) side: Rect,
    /// Front view and scales.
    pub(super) front: Rect,
    /// Figures in five rows.
    pub(super) short: Rect,
    /// Figures with trends.
    pub(super) figures: Rect,
    /// Alerts.
    pub(super) alerts: Rect,
    /// Chain of permissions.
    pub(super) chain: Rect,
    /// Truth and belief, when asked for.
    pub(super) compare: Rect,
    /// Tape.
    pub(super) tape: Rect,
    /// What is said.
    pub(super) message: Rect,
    /// Pilot's hands.
    pub(super) hands: Rect,
    /// Time line.
    pub(super) time_line: Rect,
    /// Hint line.
    pub(super) hints: Rect,
}

/// Rows of the foot: hands, time line, hints.
const FOOT: u16 = 3;

impl Plan {
    /// The plan for an area, with so many rows wanted for the head and for what is said;
    /// none if the area is too small.
    #[must_use]
    pub(super) fn of(area: Rect, head: u16, said: u16, compare: bool) -> Option<Self> {
        if area.width < LEAST.0 || area.height < LEAST.1 {
            return None;
        }
        let row = |from_bottom: u16| Rect {
            y: area.bottom() - from_bottom,
            height: 1,
            ..area
        };
        let body = Rect {
            y: area.y + head,
            height: area.height - head - FOOT,
            ..area
        };
        let mut plan = Self {
            head: top(area, head),
            body,
            hands: row(3),
            time_line: row(2),
            hints: row(1),
            ..Self::default()
        };
        if area.width >= 170 && area.height >= 45 {
            plan.large(said, compare);
        } else if area.width >= 110 && area.height >= 34 {
            plan.middle(said, compare);
        } else {
            plan.small(said, compare);
        }
        Some(plan)
    }

    /// Two columns; the tape below both gives way to what is said.
    fn small(&mut self, said: u16, compare: bool) {
        let spare = self.body.height.saturating_sub(18);
        // The row that a long way out takes from a small screen is one of the tape's.
        let tape = if self.body.height < 18 { 1 } else { 2 };
        let bottom = (tape + spare / 3).max(said.min(4)).min(self.body.height);
        let panels = top(self.body, self.body.height - bottom);
        let bottom = below(self.body, panels.height);
        self.message = top(bottom, said.min(bottom.height));
        self.tape = below(bottom, self.message.height);
        let (left, right) = split(panels, self.body.width * 11 / 20, 1);
        if compare {
            // The drawings give way; the alerts do not.
            let wide = self.body.width.min(58);
            let (table, rest) = split(panels, wide, 1);
            self.compare = table;
            self.alerts = rest;
            return;
        }
        let side = (panels.height - 10).max(5);
        self.side = top(left, side);
        self.front = top(below(left, side), 5);
        self.short = below(left, side + 5);
        let alerts = 5 + spare / 6;
        self.alerts = top(right, alerts);
        self.chain = below(right, alerts);
    }

    /// Two wide columns: drawings and figures left, reasons and tape right.
    fn middle(&mut self, said: u16, compare: bool) {
        let said = said.min(6);
        let panels = top(self.body, self.body.height - said);
        self.message = below(self.body, panels.height);
        let (left, right) = split(panels, self.body.width / 2 - 1, 2);
        let figures = 13;
        let drawings = panels.height - figures;
        let side = drawings * 11 / 20;
        self.side = top(left, side);
        self.front = top(below(left, side), drawings - side);
        self.figures = below(left, drawings);
        let alerts = (panels.height / 6).max(5);
        self.alerts = top(right, alerts);
        let rest = below(right, alerts);
        if compare {
            self.compare = rest;
            return;
        }
        self.chain = top(rest, 12);
        self.tape = below(rest, 12);
    }

    /// Three columns: drawings; reasons and tape; figures, and truth beside belief.
    fn large(&mut self, said: u16, compare: bool) {
        let said = said.min(8);
        let panels = top(self.body, self.body.height - said);
        self.message = below(self.body, panels.height);
        let (left, rest) = split(panels, self.body.width * 7 / 20, 2);
        let (centre, right) = split(rest, rest.width / 2, 2);
        let side = panels.height / 2;
        self.side = top(left, side);
        self.front = below(left, side);
        let alerts = (panels.height / 5).max(8);
        self.alerts = top(right, alerts);
        self.figures = top(below(right, alerts), 14);
        let lower = below(right, alerts + 14);
        self.chain = top(centre, 14);
        let tape = below(centre, 14);
        if compare {
            self.compare = tape;
            self.tape = lower;
        } else {
            self.tape = tape;
            self.compare = lower;
        }
    }
}

fn top(area: Rect, rows: u16) -> Rect {
    Rect {
        height: rows.min(area.height),
        ..area
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn panels(plan: &Plan) -> Vec<Rect> {
        let all = [
            plan.head,
            plan.side,
            plan.front,
            plan.short,
            plan.figures,
            plan.alerts,
            plan.chain,
            plan.compare,
            plan.tape,
            plan.message,
            plan.hands,
            plan.time_line,
            plan.hints,
        ];
        all.into_iter().filter(|area| !area.is_empty()).collect()
    }

    #[test]
    fn at_every_size_no_panel_leaves_the_screen_or_lies_on_another() {
        for width in 0..=220 {
            for height in 0..=70 {
                for (head, said, compare) in
                    [(3, 0, false), (4, 3, true), (4, 90, false), (3, 2, true)]
                {
                    let area = Rect::new(0, 0, width, height);
                    let Some(plan) = Plan::of(area, head, said, compare) else {
                        assert!(width < LEAST.0 || height < LEAST.1);
                        continue;
                    };
                    let panels = panels(&plan);
                    for (index, panel) in panels.iter().enumerate() {
                        assert_eq!(area.intersection(*panel), *panel, "{width}x{height}");
                        for other in &panels[index + 1..] {
                            assert!(
                                !panel.intersects(*other),
                                "{width}x{height} {panel} {other}"
                            );
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn at_the_least_size_everything_essential_has_its_rows() {
        let area = Rect::new(0, 0, LEAST.0, LEAST.1);
        let plan = Plan::of(area, 3, 0, false).expect("it is large enough");
        assert!(plan.side.height >= 6 && plan.front.height == 5 && plan.short.height == 5);
        assert!(plan.alerts.height >= 5 && plan.chain.height >= 11);
        assert_eq!(plan.tape.height, 2);
    }
}
