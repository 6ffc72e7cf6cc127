//! What a step asks of what is proven: for tools that explore the controller, and try of readings
//! that come to the same only one.

use enumset::EnumSet;

use super::{Conditions, Permission};

/// A set of permissions.
pub type Permissions = EnumSet<Permission>;

/// Of what is proven, what is asked for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub struct Asked {
    /// Conditions, each for itself.
    pub proven: Conditions,
    /// Permissions: of the conditions of one it matters only whether they give it.
    pub permits: Permissions,
}

impl Asked {
    /// Conditions alone.
    #[must_use]
    pub const fn of(proven: Conditions) -> Self {
        Self {
            proven,
            permits: Permissions::empty(),
        }
    }

    /// What either asks for.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        Self {
            proven: self.proven | other.proven,
            permits: self.permits | other.permits,
        }
    }

    /// These permissions too.
    #[must_use]
    pub fn permit(self, permits: Permissions) -> Self {
        self.or(Self {
            permits,
            ..Self::default()
        })
    }

    /// The permissions that are given where so much is proven.
    #[must_use]
    pub fn permitted(self, proven: Conditions) -> Permissions {
        let given = |permission: &Permission| permission.permitted(proven);
        self.permits.iter().filter(given).collect()
    }

    /// Everything that may decide, each condition for itself.
    #[must_use]
    pub fn apart(self) -> Self {
        let clauses = self.permits.iter().flat_map(Permission::clauses);
        let conditions = clauses.map(|clause| clause.any_of);
        Self::of(conditions.fold(self.proven, |all, any_of| all | any_of))
    }
}
