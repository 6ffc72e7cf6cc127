//! The table: every action, its keys and what it does.

/// Where a key means something.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// Anywhere.
    Flight,
    /// While the fault desk lies over the flight; letters there are searched for.
    Desk,
    /// While a text lies over the flight: help, briefing, debrief.
    Text,
}

/// What a person can do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Action {
    /// With the hands.
    Hand(Hand),
    /// With time.
    Time(Time),
    /// With the session and what is seen of it.
    View(View),
    /// At the fault desk.
    Desk(Desk),
    /// In a text.
    Text(Text),
}

/// What the hands do.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Hand {
    /// Opens the throttle by a tenth.
    ThrottleUp,
    /// Closes the throttle by a tenth.
    ThrottleDown,
    /// Closes the throttle.
    ThrottleIdle,
    /// Opens the throttle fully.
    ThrottleFull,
    /// Pushes the selector to deploy, briefly.
    Deploy,
    /// Pushes the selector to stow, briefly.
    Stow,
    /// Holds the selector at deploy, or lets go.
    HoldDeploy,
    /// Holds the selector at stow, or lets go.
    HoldStow,
    /// Lets the selector go.
    Release,
    /// Throws the stop-and-stow switch, or puts it back.
    Stop,
    /// Acknowledges alerts.
    Acknowledge,
    /// Holds acknowledge down, or lets go.
    HoldAcknowledge,
    /// Presses the heat test.
    HeatTest,
    /// Requests auxiliary charging, or no longer.
    AuxCharge,
    /// Turns the bench key.
    BenchKey,
}

/// How time passes, and where in it we are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Time {
    /// Stops time, or lets it pass.
    Pause,
    /// One tick on.
    TickOn,
    /// One tick back.
    TickBack,
    /// Slower.
    Slower,
    /// Faster.
    Faster,
    /// One second back.
    SecondBack,
    /// One second on.
    SecondOn,
    /// Ten seconds back.
    TenBack,
    /// Ten seconds on.
    TenOn,
    /// To the start.
    ToStart,
    /// To the end of what was flown.
    ToEnd,
    /// Exchanges this branch for the one left last.
    OtherBranch,
}

/// What is done to the session and seen of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum View {
    /// Starts anew.
    Restart,
    /// Opens the fault desk.
    Faults,
    /// Ends every active fault.
    ClearFaults,
    /// Truth and belief side by side.
    Compare,
    /// Hides the injected faults, or shows them.
    Trainee,
    /// Ends the lesson or the demonstration and shows the debrief.
    Debrief,
    /// Shows the help.
    Help,
    /// Leaves, once asked again.
    Quit,
    /// Leaves at once, from anywhere.
    LeaveNow,
}

/// What is done at the fault desk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Desk {
    /// The row above.
    RowUp,
    /// The row below.
    RowDown,
    /// The next list.
    NextList,
    /// Injects, arms or ends what is chosen.
    Choose,
    /// Stronger.
    Stronger,
    /// Weaker.
    Weaker,
    /// Lasts longer.
    Longer,
    /// Lasts shorter.
    Shorter,
    /// The next moment at which it begins.
    NextMoment,
    /// Takes back the last letter.
    Rub,
    /// Closes it.
    CloseDesk,
}

/// How a text is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Text {
    /// A line up.
    LineUp,
    /// A line down.
    LineDown,
    /// A page back.
    PageBack,
    /// A page on.
    PageOn,
    /// Closes it.
    CloseText,
}

/// One action.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// What is done.
    pub action: Action,
    /// Its name in a file of keys.
    pub name: &'static str,
    /// Where.
    pub place: Place,
    /// Its keys unless a file gives others.
    pub keys: &'static [&'static str],
    /// What does the same with the mouse; empty for nothing.
    pub mouse: &'static str,
    /// Under which heading it is explained.
    pub heading: &'static str,
    /// What it does, for the help.
    pub help: &'static str,
    /// What it does in a word or two, for the hint line; empty: never hinted at.
    pub hint: &'static str,
}

macro_rules! table {
    ($($heading:literal in $place:ident, $group:ident {
        $($action:ident $name:literal [$($key:literal),+] $mouse:literal $hint:literal $help:literal;)+
    })+) => {
        /// Every action.
        pub const TABLE: &[Row] = &[$($(Row {
            action: Action::$group($group::$action),
            name: $name,
            place: Place::$place,
            keys: &[$($key),+],
            mouse: $mouse,
            heading: $heading,
            help: $help,
            hint: $hint,
        },)+)+];
    };
}

table! {
    "Hands" in Flight, Hand {
        ThrottleUp "throttle-up" ["Up"] "wheel up" "throttle" "open the throttle by a tenth";
        ThrottleDown "throttle-down" ["Down"] "wheel down" "" "close the throttle by a tenth";
        ThrottleIdle "throttle-idle" ["0"] "click on the lever" "idle" "close the throttle at once";
        ThrottleFull "throttle-full" ["9"] "click on the lever" "" "open the throttle fully";
        Deploy "deploy" ["d"] "" "deploy" "push the mast selector to deploy for half a second";
        Stow "stow" ["s"] "" "stow" "push the mast selector to stow for half a second";
        HoldDeploy "hold-deploy" ["D"] "click on deploy" "" "hold the selector at deploy; again lets go";
        HoldStow "hold-stow" ["S"] "click on stow" "" "hold the selector at stow; again lets go";
        Release "release" ["w"] "click on hold" "" "let the selector spring back";
        Stop "stop" ["x"] "click on the switch" "STOP" "throw the stop-and-stow switch; again puts it back";
        Acknowledge "acknowledge" ["a"] "click on the button" "acknowledge" "acknowledge the alerts";
        HoldAcknowledge "hold-acknowledge" ["A"] "" "" "hold acknowledge down; again lets go (Bench: blade restrained)";
        HeatTest "heat-test" ["t"] "click on the button" "" "press the test of the heat detectors";
        AuxCharge "aux-charge" ["c"] "click on the switch" "" "request auxiliary charging, or no longer";
        BenchKey "bench-key" ["b"] "click on the key" "" "turn the bench key";
    }
    "Time" in Flight, Time {
        Pause "pause" ["Space"] "click on the speed" "pause/go" "stop time, or let it pass";
        TickOn "tick-on" ["."] "" "" "one tick (10 ms) on";
        TickBack "tick-back" [","] "" "" "one tick back";
        Slower "slower" ["-"] "" "" "slower";
        Faster "faster" ["+", "="] "" "" "faster";
        SecondBack "second-back" ["Left"] "click on the time line" "back" "one second back";
        SecondOn "second-on" ["Right"] "click on the time line" "" "one second on, through what was flown";
        TenBack "ten-back" ["PageUp", "Shift+Left"] "" "" "ten seconds back";
        TenOn "ten-on" ["PageDown", "Shift+Right"] "" "" "ten seconds on, through what was flown";
        ToStart "to-start" ["Home"] "" "" "to the start";
        ToEnd "to-end" ["End"] "" "" "to the end of what was flown";
        OtherBranch "other-branch" ["o"] "" "" "exchange this branch for the one left last";
    }
    "Faults, views, leaving" in Flight, View {
        Faults "faults" ["f"] "" "faults" "open the fault desk";
        ClearFaults "clear-faults" ["F"] "" "" "end every active fault";
        Compare "compare" ["v"] "" "truth/belief" "truth and belief side by side";
        Trainee "trainee" ["T"] "" "" "hide injected faults from the screen, or show them";
        Debrief "debrief" ["r"] "" "" "what was done when, and what held";
        Restart "restart" ["R"] "" "" "start the scenario anew, forget this flight";
        Help "help" ["?", "F1"] "" "help" "this help";
        Quit "quit" ["q"] "" "leave" "leave; asks once";
        LeaveNow "leave-now" ["Ctrl+c"] "" "" "leave at once, from anywhere";
    }
    "In the fault desk (letters search)" in Desk, Desk {
        RowUp "desk-up" ["Up"] "click on the row" "" "the row above";
        RowDown "desk-down" ["Down"] "click on the row" "choose" "the row below";
        NextList "desk-list" ["Tab"] "click on a row" "list" "the next list: matches, armed, active";
        Choose "desk-choose" ["Enter"] "click on the chosen row" "inject/end" "inject or arm the match; end the armed or active";
        Stronger "desk-stronger" ["Right"] "" "strength" "stronger";
        Weaker "desk-weaker" ["Left"] "" "" "weaker";
        Longer "desk-longer" ["PageUp"] "" "duration" "lasts longer";
        Shorter "desk-shorter" ["PageDown"] "" "" "lasts shorter";
        NextMoment "desk-moment" ["Insert", "Ctrl+n"] "" "when" "begins now, or waits for a moment: the next of the list";
        Rub "desk-rub" ["Backspace"] "" "" "take back the last letter";
        CloseDesk "desk-close" ["Esc"] "click on close" "close" "back to the flight";
    }
    "In a text" in Text, Text {
        LineUp "text-up" ["Up"] "wheel up" "" "a line up";
        LineDown "text-down" ["Down"] "wheel down" "scroll" "a line down";
        PageBack "text-back" ["Left", "PageUp"] "" "" "the page before";
        PageOn "text-on" ["Right", "PageDown"] "" "page" "the next page";
        CloseText "text-close" ["Esc", "Enter", "Space", "q", "?"] "click on close" "close" "back to the flight";
    }
}
