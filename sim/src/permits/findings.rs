//! What is wrong with a permission, by its table.

use std::fmt;

use mastwright_core::interlock::{Condition, Conditions, Reason};

/// One thing that is wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Finding {
    /// No pair of rows shows an effect of this condition.
    Redundant(Condition),
    /// It has an effect only in rows that cannot come about, and no one says why it is
    /// there.
    Unexplained(Condition),
    /// It is explained as without effect, and has one.
    NeedlesslyExplained(Condition),
    /// The decision is not that of the clauses when this is proven.
    Undecided(Conditions),
    /// The reasons given are not those of the clauses that fail when this is proven.
    WrongReasons(Conditions),
    /// This condition never decides alone over the clause with this reason: another
    /// clause always fails with it, or the clause never alone.
    Masked(Condition, Reason),
    /// Several clauses give this reason, and no one says why.
    SharedReason(Reason),
    /// It is explained as shared, and is not.
    NeedlesslyShared(Reason),
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Redundant(condition) => write!(
                f,
                "{condition:?} is redundant: no two rows show an effect of it on the \
                 decision; remove it"
            ),
            Self::Unexplained(condition) => write!(
                f,
                "{condition:?} is redundant in every row that can come about; remove it, or \
                 explain it in sim/src/permits/explained.rs"
            ),
            Self::NeedlesslyExplained(condition) => write!(
                f,
                "{condition:?} is explained as redundant and is not; remove the explanation"
            ),
            Self::Undecided(proven) => write!(
                f,
                "the decision is not that of the clauses with {} proven",
                names(*proven)
            ),
            Self::WrongReasons(proven) => write!(
                f,
                "the reasons are not those of the clauses that fail with {} proven",
                names(*proven)
            ),
            Self::Masked(condition, reason) => write!(
                f,
                "{condition:?} never decides alone over the clause denied by {reason:?}"
            ),
            Self::SharedReason(reason) => write!(
                f,
                "{reason:?} is the reason of several clauses; give each its own, or explain \
                 it in sim/src/permits/explained.rs"
            ),
            Self::NeedlesslyShared(reason) => write!(
                f,
                "{reason:?} is explained as shared and is not; remove the explanation"
            ),
        }
    }
}

/// Conditions by name, or that there are none.
fn names(proven: Conditions) -> String {
    if proven.is_empty() {
        return "nothing".to_owned();
    }
    let names: Vec<String> = proven.iter().map(|one| format!("{one:?}")).collect();
    names.join(", ")
}
