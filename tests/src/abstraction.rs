//! Whether the abstract world of the exploration takes in every way of the simulated one.
//!
//! Real flights are followed tick by tick in the abstract space ([`follow`]): of each tick
//! it is asked whether one of the abstract transitions leads, under hands like the real
//! ones and with the same commands, to a node of the real memory in which the abstract
//! plant lies where the real one does ([`plant`]). What stands for what is said in
//! [`hands`], [`memory`] and [`troubles`]; [`flights`] are what is flown.
//!
//! Beside that, three claims of the exploration are held against the real controller and the
//! simulated aircraft one by one: that a running timer needs no exact value ([`twin`]), the
//! facts about time ([`facts`]), and the tables of what matters in which state ([`tried`],
//! [`blade`], [`lies`]).

pub mod blade;
pub mod channels;
pub mod facts;
pub mod flights;
pub mod follow;
pub mod hands;
pub mod lies;
pub mod memory;
pub mod plant;
pub mod tried;
pub mod troubles;
pub mod twin;
