//! What a step asks of what is proven: for tools that explore the controller, and try of readings
//! that come to the same only one.

use enumset::EnumSet;

use super::{Conditions, Permission};

/// A set of permissions.
pub(crate) type Permissions = EnumSet<Permission>;

/// Of what is proven, what is asked for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub(crate) struct Asked {
    /// Conditions, each for itself.
    pub(crate) proven: Conditions,
    /// Permissions: of the conditions of one it matters only whether they give it.
    pub(crate) permits: Permissions,
}

impl Asked {
    /// Conditions alone.
    pub(crate) const fn of(proven: Conditions) -> Self {
        Self {
            proven,
            permits: Permissions::empty(),
        }
    }

    /// What either asks for.
    pub(crate) fn or(self, other: Self) -> Self {
        Self {
            proven: self.proven | other.proven,
            permits: self.permits | other.permits,
        }
    }

    /// These permissions too.
    pub(crate) fn permit(self, permits: Permissions) -> Self {
        self.or(Self {
            permits,
            ..Self::default()
        })
    }

    /// The permissions that are given where so much is proven.
    pub(crate) fn permitted(self, proven: Conditions) -> Permissions {
        let given = |permission: &Permission| permission.permitted(proven);
        self.permits.iter().filter(given).collect()
    }

    /// Everything that may decide, each condition for itself.
    pub(crate) fn apart(self) -> Self {
        let clauses = self.permits.iter().flat_map(Permission::clauses);
        let conditions = clauses.map(|clause| clause.any_of);
        Self::of(conditions.fold(self.proven, |all, any_of| all | any_of))
    }
}
