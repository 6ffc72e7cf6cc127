//! A state of the space in its stored form, in memory and in a file.

use super::engine::Packed;

/// A state of the space, packed: the controller's memory in the low bits, the rest above.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Node<M> {
    pub(super) bits: u128,
    pub(super) mind: M,
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
