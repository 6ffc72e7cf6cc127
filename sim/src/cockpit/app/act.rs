//! Every action, done.

use super::{App, Over};
use crate::cockpit::keys::{Action, Desk, Hand, Text, Time, View};
use crate::cockpit::timeline::Order;
use crate::controls::Push;

/// How far the lever goes at a press.
const STEP: f64 = 0.1;
/// Ticks in a second.
const SECOND: i64 = 100;

impl App {
    /// Does `action`; `confirmed`: it was asked about and pressed again.
    pub(super) fn act(&mut self, action: Action, confirmed: bool) {
        match action {
            Action::Hand(hand) => self.use_hand(hand),
            Action::Time(time) => self.pass_time(time),
            Action::View(view) => self.change_view(view, confirmed),
            Action::Desk(desk) => self.use_desk(desk),
            Action::Text(text) => self.read(text),
        }
    }

    /// The hands. In the demonstration they are the script's until it is left.
    fn use_hand(&mut self, hand: Hand) {
        self.leave_demo();
        let desk = &mut self.desk;
        let lever = desk.hands().throttle;
        match hand {
            Hand::ThrottleUp => desk.throttle(lever + STEP),
            Hand::ThrottleDown => desk.throttle(lever - STEP),
            Hand::ThrottleIdle => desk.throttle(0.0),
            Hand::ThrottleFull => desk.throttle(1.0),
            Hand::Deploy => desk.tap(Push::Deploy),
            Hand::Stow => desk.tap(Push::Stow),
            Hand::HoldDeploy => desk.hold(Push::Deploy),
            Hand::HoldStow => desk.hold(Push::Stow),
            Hand::Release => desk.tap(Push::Hold),
            Hand::Stop => desk.toggle_stop(),
            Hand::Acknowledge => desk.acknowledge(),
            Hand::HoldAcknowledge => desk.hold_acknowledge(),
            Hand::HeatTest => desk.heat_test(),
            Hand::AuxCharge => desk.toggle_aux_charge(),
            Hand::BenchKey => desk.toggle_bench_key(),
        }
    }

    /// Time: its speed, and where in it we are.
    fn pass_time(&mut self, time: Time) {
        let desk = &mut self.desk;
        match time {
            Time::Pause => desk.set_running(!desk.is_running()),
            Time::Slower => desk.set_speed(desk.speed().slower()),
            Time::Faster => desk.set_speed(desk.speed().faster()),
            Time::TickOn => {
                desk.set_running(false);
                desk.step();
            }
            Time::TickBack => self.look(-1),
            Time::SecondBack => self.look(-SECOND),
            Time::SecondOn => self.look(SECOND),
            Time::TenBack => self.look(-10 * SECOND),
            Time::TenOn => self.look(10 * SECOND),
            Time::ToStart => self.look(i64::MIN),
            Time::ToEnd => self.look(i64::MAX),
            Time::OtherBranch => self.other_branch(),
        }
    }

    /// Goes so many ticks forth or back. Whoever does so wants to look: time stands still.
    fn look(&mut self, ticks: i64) {
        self.desk.set_running(false);
        self.desk.seek_by(ticks);
        let (now, earliest) = (self.desk.frame().tick, self.desk.timeline().earliest());
        if ticks < 0 && now == earliest && earliest > 0 {
            self.say("no further: so long a flight forgets its oldest part (× on the time line)");
        }
    }

    fn other_branch(&mut self) {
        self.desk.set_running(false);
        if self.desk.take_back() {
            let (number, _) = self.desk.timeline().branch();
            self.say(format!("this is branch {number} again"));
        } else {
            self.say("no branch has been left: go back and do something else");
        }
    }

    fn change_view(&mut self, view: View, confirmed: bool) {
        if let Some(why) = self.withheld(view) {
            return self.say(why);
        }
        match view {
            View::Faults => self.over = Over::Desk,
            View::ClearFaults => self.desk.give(Order::ClearAll),
            View::Compare => self.compare = !self.compare,
            View::Trainee => self.trainee = !self.trainee,
            View::Debrief => self.debrief(),
            View::Help => self.over = Over::Help { scroll: 0 },
            View::Restart if confirmed => self.restart(),
            View::Restart => self.ask(view, "starts anew and forgets this flight"),
            View::Quit if confirmed => self.over_and_out = true,
            View::Quit => self.ask(view, "leaves"),
            View::LeaveNow => self.over_and_out = true,
        }
    }

    fn ask(&mut self, view: View, does: &str) {
        let action = Action::View(view);
        self.confirm = Some(action);
        let key = self.keys.shown(action).unwrap_or_default();
        self.say(format!("{key} again {does}"));
    }

    fn restart(&mut self) {
        self.desk.restart();
        self.desk.set_running(false);
        self.demo = None;
        self.over = Over::Briefing;
    }

    fn use_desk(&mut self, desk: Desk) {
        match desk {
            Desk::RowUp => self.faults.move_row(&self.desk, false),
            Desk::RowDown => self.faults.move_row(&self.desk, true),
            Desk::NextList => self.faults.next_list(),
            Desk::Choose => {
                if let Some(said) = self.faults.act(&mut self.desk) {
                    self.say(said);
                }
            }
            Desk::Stronger => self.faults.scale(true),
            Desk::Weaker => self.faults.scale(false),
            Desk::Longer => self.faults.last(true),
            Desk::Shorter => self.faults.last(false),
            Desk::NextMoment => self.faults.next_moment(),
            Desk::Rub => self.faults.rub(),
            Desk::CloseDesk => self.close(),
        }
    }

    fn read(&mut self, text: Text) {
        match text {
            Text::LineUp => self.scroll(-1),
            Text::LineDown => self.scroll(1),
            Text::PageBack => self.turn(-1),
            Text::PageOn => self.turn(1),
            Text::CloseText => self.close(),
        }
    }

    fn close(&mut self) {
        if self.over == Over::Briefing {
            self.desk.set_running(true);
        }
        self.over = Over::Nothing;
    }

    fn scroll(&mut self, lines: isize) {
        if let Over::Help { scroll } | Over::Debrief { scroll, .. } = &mut self.over {
            *scroll = scroll
                .saturating_add_signed(lines)
                .min(super::pages::MOST_LINES);
        }
    }

    fn turn(&mut self, pages: isize) {
        match &mut self.over {
            Over::Debrief {
                pages: all,
                page,
                scroll,
            } => {
                let last = all.len().saturating_sub(1);
                *page = page.saturating_add_signed(pages).min(last);
                *scroll = 0;
            }
            Over::Help { .. } => self.scroll(10 * pages),
            Over::Nothing | Over::Briefing | Over::Desk => {}
        }
    }

    /// What was done and what held, up to now.
    pub(super) fn debrief(&mut self) {
        self.desk.set_running(false);
        self.over = Over::Debrief {
            pages: super::pages::debrief(&self.desk),
            page: 0,
            scroll: 0,
        };
    }
}
