//! What a person can order.

use std::sync::Arc;

use super::Armed;
use crate::faults::Fault;
use crate::scenario::deed::Deed;

/// Something ordered from the next tick on.
#[derive(Clone, Debug, PartialEq)]
pub enum Order {
    /// A deed of the pilot or the crew.
    Do(Deed),
    /// A fault begins.
    Inject(Fault),
    /// A fault begins when its moment comes.
    Arm(Arc<Armed>),
    /// The armed fault of this place in the list waits no longer.
    Disarm(usize),
    /// The active fault of this number ends.
    Clear(usize),
    /// Every active fault ends.
    ClearAll,
}
