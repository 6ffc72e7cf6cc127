/*
 * The mast-and-propeller core of the abstract world, written by hand for SPIN: mast, doors,
 * blade, and as much of the sequencer as deploying, stowing and Jog need. A cross-check of
 * the exploration by an independent engine and an independent hand; not a part of the
 * product, and not derived from its code.
 *
 * What is left out is free: every timer may run out or not, the pilot and the air do what
 * they like, out of the bay the blade is wherever it likes, the bus is live or not.
 * Taken for granted: what coasts passes one boundary at most, and a mast that coasts into
 * the bay is there before a blade that was parked when the drive went off is out of its
 * sector.
 *
 * Switches:
 *   LYING_ANGLE       source A of the blade angle says anything
 *   BELIEVES_PARKED   saboteur: takes the blade for parked
 *   TRUSTS_ONE_ANGLE  saboteur: takes source A for both
 *   CLOSES_ON_MAST    saboteur: closes the doors while the mast still comes down
 *   CLOSES_BEHIND_COASTING
 *                     saboteur: closes the doors behind a mast that was just raised, and
 *                     may still coast off its end
 */

#ifdef CLOSES_BEHIND_COASTING
#define WAITS false
#else
#define WAITS true
#endif

/* Mast, from stowed to locked. */
#define STOWED    0 /* at its stowed end */
#define INSIDE    1 /* the blade is between the walls of the bay */
#define BRINK     2 /* out of the bay, by less than half of the margin */
#define EDGE      3 /* out of the bay, by more than half of the margin */
#define CLEAR     4 /* out of the bay, with its margin */
#define DEPLOYED  5 /* at its deployed end, the pin not engaged */
#define LOCKED    6 /* there, the pin engaged */
#define IN_BAY    (mast <= INSIDE)
/* Farther out than this nothing is kept of the blade: it is wherever it likes. */
#define KEPT      (mast <= BRINK)

/* Doors, from shut to open; agape: just off the open switches, the mast still passes. */
#define SHUT   0
#define AJAR   1
#define AGAPE  2
#define OPEN   3

/* Blade. */
#define WINDOW 0
#define NEAR   1
#define AWAY   2
#define STILL  0
#define SLOW   1
#define FAST   2

/* Ways. */
#define NONE 0
#define OUT  1
#define IN   2

/* Sequencer. */
#define RESTS        0
#define IS_STOWED    1
#define DEPLOY_DOORS 2
#define DEPLOY_MAST  3
#define IS_DEPLOYED  4
#define STOW_BRAKE   5
#define STOW_PARK    6
#define STOW_PROVE   7
#define STOW_MAST    8
#define STOW_DOORS   9
#define JOG          10
#define HALTED       11

/* Selector and intentions. */
#define HOLD          0
#define DEPLOY        1
#define STOW          2
#define STOP_AND_STOW 3

/* The plant. */
byte mast, mast_moves, doors, door_moves, place, pace;
/* The controller's memory. */
byte seq, selector, mast_drive, mast_rests, door_drive, door_rests;
bool ready, stop_off;
/* One step: hands, air, readings, proofs. Reset at its end. */
byte push, intent, a, b;
bool stop, stop_fresh, fast, parked, over;

inline any_of_three(x) {
    if :: x = 0 :: x = 1 :: x = 2 fi
}

inline maybe(x) {
    if :: x = false :: x = true fi
}

/* Power-up: doors open wherever the mast is out, the blade at rest clear of the walls. */
inline power_up() {
    if
    :: mast = STOWED; if :: doors = SHUT :: doors = AJAR :: doors = AGAPE :: doors = OPEN fi
    :: mast = INSIDE; doors = OPEN
    :: mast = BRINK; doors = OPEN
    :: mast = EDGE; doors = OPEN
    :: mast = CLEAR; doors = OPEN
    :: mast = DEPLOYED; doors = OPEN
    :: mast = LOCKED; doors = OPEN
    fi;
    if :: place = WINDOW :: KEPT -> place = NEAR :: mast == BRINK -> place = AWAY fi;
    seq = RESTS
}

/* Hands and air; well out of the bay, the blade. */
inline outside() {
    any_of_three(push);
    maybe(stop);
    maybe(fast);
    if
    :: KEPT
    :: else ->
        if
        :: place = WINDOW; pace = STILL
        :: place = WINDOW; pace = SLOW
        :: place = NEAR; pace = SLOW
        :: place = AWAY; pace = SLOW
        :: place = AWAY; pace = FAST
        fi
    fi
}

inline read() {
    a = place;
    b = place;
#ifdef LYING_ANGLE
    any_of_three(a);
#endif
#ifdef TRUSTS_ONE_ANGLE
    b = a;
#endif
    /* Where every reading has been so for the proof time, the proof may be complete. */
    if
    :: a == WINDOW && b == WINDOW && pace == STILL -> maybe(parked)
    :: else -> parked = false
    fi;
#ifdef BELIEVES_PARKED
    parked = true;
    a = WINDOW;
    b = WINDOW;
#endif
    stop_fresh = stop && stop_off;
    stop_off = !stop;
    intent = HOLD;
    if
    :: push != selector && push != HOLD && (ready || selector != HOLD) ->
        intent = push; ready = false
    :: push == HOLD -> ready = true
    :: else
    fi;
    selector = push;
    if :: stop_fresh -> intent = STOP_AND_STOW :: else fi;
    /* The time of the present state may be up. */
    maybe(over)
}

inline begin_stow() {
    if :: mast == STOWED -> seq = STOW_DOORS :: else -> seq = STOW_BRAKE fi
}

inline begin_deploy() {
    if
    :: mast == LOCKED -> seq = IS_DEPLOYED
    :: mast >= CLEAR && mast != LOCKED -> seq = DEPLOY_DOORS
    :: mast < CLEAR && parked -> seq = DEPLOY_DOORS
    :: mast < CLEAR && !parked -> seq = HALTED
    fi
}

/* A halt or Jog wants a fresh push. */
inline enter(state) {
    seq = state;
    ready = false
}

inline deploy_doors() {
    if
    :: doors == OPEN -> seq = DEPLOY_MAST
    :: doors != OPEN && over -> enter(HALTED)
    :: else
    fi
}

inline deploy_mast() {
    if
    :: mast == LOCKED -> if :: seq = IS_DEPLOYED :: skip fi
    :: mast != LOCKED && !parked && mast < CLEAR -> enter(HALTED)
    :: mast != LOCKED && (parked || mast >= CLEAR) && over -> enter(HALTED)
    :: else
    fi
}

inline deploying() {
    if
    :: intent == STOP_AND_STOW -> begin_stow()
    :: intent == STOW -> enter(JOG)
    :: intent != STOP_AND_STOW && intent != STOW && stop -> enter(HALTED)
    :: else -> if :: seq == DEPLOY_DOORS -> deploy_doors() :: else -> deploy_mast() fi
    fi
}

inline deployed() {
    if
    :: intent == STOW || intent == STOP_AND_STOW -> begin_stow()
    :: intent != STOW && intent != STOP_AND_STOW && (stop || mast != LOCKED) -> enter(HALTED)
    :: else
    fi
}

inline stow_mast() {
    if
    :: mast == STOWED -> seq = STOW_DOORS
    :: mast != STOWED && !parked && mast < CLEAR -> enter(HALTED)
    :: mast != STOWED && (parked || mast >= CLEAR) && over -> enter(HALTED)
    :: else
    fi
}

inline jog() {
    if
    :: intent == STOP_AND_STOW -> begin_stow()
    :: intent != STOP_AND_STOW && stop_fresh -> enter(HALTED)
    :: intent != STOP_AND_STOW && !stop_fresh && selector == HOLD ->
        if
        :: mast == STOWED && doors == SHUT -> seq = IS_STOWED
        :: mast == LOCKED -> seq = IS_DEPLOYED
        :: mast != LOCKED && over -> enter(RESTS)
        :: else
        fi
    :: else
    fi
}

inline rests() {
    if
    :: intent == DEPLOY -> begin_deploy()
    :: intent == STOW || intent == STOP_AND_STOW -> begin_stow()
    :: intent == HOLD && seq == RESTS && mast == STOWED && doors == SHUT -> seq = IS_STOWED
    :: else
    fi
}

inline transition() {
    if
    :: seq == RESTS || seq == HALTED -> rests()
    :: seq == IS_STOWED ->
        if
        :: mast != STOWED || doors != SHUT -> enter(RESTS)
        :: mast == STOWED && doors == SHUT && intent == DEPLOY -> begin_deploy()
        :: else
        fi
    :: seq == DEPLOY_DOORS || seq == DEPLOY_MAST -> deploying()
    :: seq == IS_DEPLOYED -> deployed()
    :: seq >= STOW_BRAKE && seq <= STOW_DOORS && intent == DEPLOY -> enter(JOG)
    :: seq == STOW_BRAKE && intent != DEPLOY ->
        if
        :: pace != FAST -> seq = STOW_PARK
        :: pace == FAST && over -> enter(HALTED)
        :: else
        fi
    :: seq == STOW_PARK && intent != DEPLOY ->
        if
        :: parked && !fast -> seq = STOW_PROVE
        :: (!parked || fast) && over -> enter(HALTED)
        :: else
        fi
    :: seq == STOW_PROVE && intent != DEPLOY ->
        if
        :: !parked -> enter(HALTED)
        :: parked && over -> seq = STOW_MAST
        :: else
        fi
    :: seq == STOW_MAST && intent != DEPLOY -> stow_mast()
    :: seq == STOW_DOORS && intent != DEPLOY ->
        if
        :: mast == STOWED && doors == SHUT -> seq = IS_STOWED
        :: (mast != STOWED || doors != SHUT) && over -> enter(HALTED)
        :: else
        fi
    :: seq == JOG -> jog()
    fi
}

/* What is asked for; then what is permitted; then the dead times. */
inline drive() {
    mast_drive = NONE;
    door_drive = NONE;
    if
    :: seq == DEPLOY_DOORS && doors != OPEN -> door_drive = OUT
    :: seq == DEPLOY_MAST ->
        mast_drive = OUT;
        if :: doors != OPEN -> door_drive = OUT :: else fi
    :: seq == STOW_MAST && mast != STOWED ->
        mast_drive = IN;
        if :: doors != OPEN -> door_drive = OUT :: else fi
    :: seq == STOW_DOORS -> door_drive = IN
    :: seq == JOG && selector == DEPLOY && mast != LOCKED ->
        if :: doors == OPEN -> mast_drive = OUT :: else -> door_drive = OUT fi
    :: seq == JOG && selector == STOW ->
        if
        :: mast == STOWED && doors != SHUT -> door_drive = IN
        :: mast != STOWED && doors == OPEN -> mast_drive = IN
        :: mast != STOWED && doors != OPEN -> door_drive = OUT
        :: else
        fi
    :: else
    fi;
    if
    :: fast || (mast_drive != NONE && doors != OPEN) || mast_drive == mast_rests -> mast_drive = NONE
    :: else
    fi;
    if
    :: mast_drive == OUT && mast < CLEAR && !(parked && a == WINDOW && b == WINDOW) -> mast_drive = NONE
    :: mast_drive == IN && !(parked && a == WINDOW && b == WINDOW) -> mast_drive = NONE
    :: else
    fi;
#ifdef CLOSES_ON_MAST
    if :: mast_drive == IN -> door_drive = IN :: else fi;
#else
    /* Doors wait for a mast that was just raised to come to rest. */
    if
    :: door_drive == IN && (mast != STOWED || (WAITS && mast_rests == IN)) -> door_drive = NONE
    :: else
    fi;
#endif
    if :: fast || door_drive == door_rests -> door_drive = NONE :: else fi;
    dead_time(mast_drive, mast_rests);
    dead_time(door_drive, door_rests)
}

/* The way opposite to a drive must rest, until its time is over. */
inline dead_time(driven, resting) {
    if
    :: driven == OUT -> resting = IN
    :: driven == IN -> resting = OUT
    :: driven == NONE && resting != NONE -> if :: resting = NONE :: skip fi
    :: else
    fi
}

inline judge() {
    /* SR-02 and HZ-1: the blade is in its sector wherever the mast is in the bay. */
    assert(!IN_BAY || (place != AWAY && pace != FAST));
    /* SR-09 and HZ-3: doors are open wherever the mast is out, and close only behind it. */
    assert(mast == STOWED || doors >= AGAPE);
    assert(door_drive != IN || mast == STOWED);
    /* SR-03: no drive is reversed from one step to the next. */
    assert(!(mast_moves == OUT && mast_drive == IN) && !(mast_moves == IN && mast_drive == OUT));
    assert(!(door_moves == OUT && door_drive == IN) && !(door_moves == IN && door_drive == OUT))
}

inline step_out(x, most) {
    if :: x < most -> x++ :: else fi
}

inline step_in(x) {
    if :: x > 0 -> x-- :: else fi
}

inline move(x, moves, driven, most) {
    if
    :: driven == OUT -> moves = OUT; if :: step_out(x, most) :: skip fi
    :: driven == IN -> moves = IN; if :: step_in(x) :: skip fi
    :: driven == NONE && moves == NONE
    :: driven == NONE && moves == OUT -> moves = NONE; if :: step_out(x, most) :: skip fi
    :: driven == NONE && moves == IN -> moves = NONE; if :: step_in(x) :: skip fi
    fi
}

/* In the bay the detent keeps the blade; out of it, it may begin to move and go on. */
inline turn_blade() {
    if
    :: was_in -> if :: pace = STILL :: skip fi
    :: !was_in && pace == STILL ->
        if
        :: skip
        :: pace = SLOW
        :: place == WINDOW -> place = NEAR; pace = SLOW
        fi
    :: !was_in && pace != STILL ->
        if
        :: skip
        :: pace = STILL
        :: pace = SLOW
        :: place == NEAR -> place = WINDOW; if :: pace = STILL :: pace = SLOW fi
        :: place == NEAR -> place = AWAY; if :: pace = STILL :: pace = SLOW fi
        :: place != NEAR -> place = NEAR; if :: pace = STILL :: pace = SLOW fi
        fi
    fi
}

bool was_in;

active proctype world() {
    atomic { power_up() };
    do
    :: atomic {
        outside();
        read();
        transition();
        drive();
        judge();
        was_in = IN_BAY;
        move(mast, mast_moves, mast_drive, LOCKED);
        move(doors, door_moves, door_drive, OPEN);
        if
        :: KEPT && !was_in && IN_BAY && mast_drive == NONE ->
            if :: place == AWAY || pace == FAST -> mast = BRINK :: else fi
        :: KEPT && (was_in || !IN_BAY || mast_drive != NONE) -> turn_blade()
        :: else -> place = WINDOW; pace = STILL
        fi;
        /* Nothing of the step itself is kept. */
        push = 0; intent = 0; a = 0; b = 0; stop = false; stop_fresh = false;
        fast = false; parked = false; over = false; was_in = false;
        mast_drive = NONE; door_drive = NONE
    }
    od
}
