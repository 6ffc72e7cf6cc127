//! The exploration without its collapsed time: the real controller, every counter of it
//! exact, in the abstract world.
//!
//! The exploration keeps of each timer only whether it is over, lets any running one run out
//! at any time, and chooses anew in each step what it does not keep. Here nothing of the
//! controller's memory is left out but what only tells ([`exact`]): a timer runs out when its
//! ticks are counted, a control counts when it has been read for its time, doors have strayed
//! when they have. What is left out of it, packed as the exploration packs it, must be a node
//! that the exploration comes to ([`search`]).
//!
//! So that this ends, time limits are tiny ([`limits`]), and hands fewer ([`collapsed`]), the
//! same for both.

pub mod collapsed;
pub mod exact;
pub mod limits;
pub mod search;
pub mod step;
