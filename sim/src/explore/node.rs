//! A state of the space in its stored form, in memory and in a file.

use super::engine::Packed;
use super::memory;
use super::space::World;
use super::trouble::{Trouble, Troubles};

/// A state of the space, packed: the controller's memory in the low bits, the rest above.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Node<M> {
    pub(super) bits: u128,
    pub(super) mind: M,
}

impl<M> Node<M> {
    /// The node of a packed memory in a world.
    pub(super) fn of(memory: u64, world: &World, mind: M) -> Self {
        Self {
            bits: u128::from(memory) | (world.pack() << memory::BITS),
            mind,
        }
    }

    /// The controller's packed memory.
    pub(super) const fn memory(&self) -> u64 {
        // It has fewer bits than that.
        (self.bits & ((1 << memory::BITS) - 1)) as u64
    }

    /// The world it stands for.
    pub(super) fn world(&self) -> World {
        World::unpack(self.bits >> memory::BITS)
    }
}

impl<M: Copy> Node<M> {
    /// The node whose case this is, and which. What is broken is no part of it, or one of
    /// two things.
    #[must_use]
    pub fn apart(&self) -> (Self, Trouble) {
        let [first, second] = self.world().troubles.both();
        let (common, case) = if second == Trouble::None {
            (Trouble::None, first)
        } else {
            (first, second)
        };
        (self.broken(Troubles::of(common, Trouble::None)), case)
    }

    /// The same in one of its cases: [`Node::apart`] again gives both.
    #[must_use]
    pub fn in_case(&self, case: Trouble) -> Self {
        self.broken(self.world().troubles.with(case))
    }

    /// The same with this broken.
    pub(super) fn broken(&self, troubles: Troubles) -> Self {
        let world = World {
            troubles,
            ..self.world()
        };
        Self::of(self.memory(), &world, self.mind)
    }
}

impl<M: Packed> Packed for Node<M> {
    type Bytes = Joined<M>;

    fn to_bytes(&self) -> Self::Bytes {
        let mut joined = Joined::<M>::default();
        let bytes = joined.as_mut();
        bytes[..16].copy_from_slice(&self.bits.to_le_bytes());
        bytes[16..].copy_from_slice(self.mind.to_bytes().as_ref());
        joined
    }

    fn from_bytes(joined: &Self::Bytes) -> Self {
        let (bits, rest) = joined.as_ref().split_at(16);
        let mut mind = M::Bytes::default();
        mind.as_mut().copy_from_slice(rest);
        Self {
            bits: u128::from_le_bytes(bits.try_into().expect("sixteen bytes")),
            mind: M::from_bytes(&mind),
        }
    }
}

/// Sixteen bytes and those of a mind, of which there are at most eight.
#[derive(Clone, Copy, Debug)]
pub struct Joined<M>([u8; 24], std::marker::PhantomData<M>);

impl<M: Packed> Joined<M> {
    fn len() -> usize {
        16 + M::Bytes::default().as_ref().len()
    }
}

impl<M> Default for Joined<M> {
    fn default() -> Self {
        Self([0; 24], std::marker::PhantomData)
    }
}

impl<M: Packed> AsRef<[u8]> for Joined<M> {
    fn as_ref(&self) -> &[u8] {
        &self.0[..Self::len()]
    }
}

impl<M: Packed> AsMut<[u8]> for Joined<M> {
    fn as_mut(&mut self) -> &mut [u8] {
        &mut self.0[..Self::len()]
    }
}
