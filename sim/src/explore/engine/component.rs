//! Which nodes of a graph can reach each other.

use std::collections::{HashMap, VecDeque};

use super::graph::Graph;
use super::space::Packed;

/// Not in a component yet.
const NONE: u32 = u32::MAX;

/// The strongly connected components of a graph, numbered so that every edge between two
/// of them leads to the lower number.
pub(super) struct Components {
    of: Vec<u32>,
    members: Vec<u32>,
    ends: Vec<u32>,
}

/// Tarjan's algorithm with a stack of its own: a way may be millions of states long.
struct Search<'a, P> {
    graph: &'a Graph<P>,
    /// The order in which nodes are met, from 1; 0: not met.
    met: Vec<u32>,
    /// The earliest met node, still without component, that a node is known to reach.
    low: Vec<u32>,
    count: u32,
    /// Nodes met and without component.
    open: Vec<u32>,
    /// The way to the node looked at, with how many successors of each are done.
    way: Vec<(u32, u32)>,
    found: Components,
}

impl Components {
    /// The components of a graph.
    pub(super) fn of_graph<P: Packed>(graph: &Graph<P>) -> Self {
        let mut search = Search {
            graph,
            met: vec![0; graph.len()],
            low: vec![0; graph.len()],
            count: 0,
            open: Vec::new(),
            way: Vec::new(),
            found: Self {
                of: vec![NONE; graph.len()],
                members: Vec::with_capacity(graph.len()),
                ends: Vec::new(),
            },
        };
        for node in 0..graph.len() as u32 {
            if search.met[node as usize] == 0 {
                search.enter(node);
                while let Some((node, done)) = search.way.pop() {
                    search.step(node, done);
                }
            }
        }
        search.found
    }

    /// The component of a node.
    pub(super) fn of(&self, node: u32) -> u32 {
        self.of[node as usize]
    }

    /// The nodes of each component, by its number.
    pub(super) fn iter(&self) -> impl Iterator<Item = &[u32]> {
        let begins = std::iter::once(&0).chain(&self.ends);
        let bounds = begins.zip(&self.ends);
        bounds.map(|(&begin, &end)| &self.members[begin as usize..end as usize])
    }

    /// The nodes of a shortest way between two nodes of one component, within it.
    pub(super) fn way<P: Packed>(&self, graph: &Graph<P>, from: u32, to: u32) -> Vec<u32> {
        let mut before = HashMap::from([(from, from)]);
        let mut next = VecDeque::from([from]);
        while let Some(node) = next.pop_front().filter(|&node| node != to) {
            for &successor in graph.successors(node) {
                if self.of(successor) == self.of(from) {
                    before.entry(successor).or_insert_with(|| {
                        next.push_back(successor);
                        node
                    });
                }
            }
        }
        let mut way = vec![to];
        let mut at = to;
        while at != from {
            at = before[&at];
            way.push(at);
        }
        way.reverse();
        way
    }
}

impl<P: Packed> Search<'_, P> {
    fn enter(&mut self, node: u32) {
        self.count += 1;
        self.met[node as usize] = self.count;
        self.low[node as usize] = self.count;
        self.open.push(node);
        self.way.push((node, 0));
    }

    /// Looks at the next successor of a node, or, when all are done, leaves it.
    fn step(&mut self, node: u32, done: u32) {
        let Some(&next) = self.graph.successors(node).get(done as usize) else {
            return self.leave(node);
        };
        self.way.push((node, done + 1));
        if self.met[next as usize] == 0 {
            self.enter(next);
        } else if self.found.of(next) == NONE {
            self.reaches(node, self.met[next as usize]);
        }
    }

    fn reaches(&mut self, node: u32, met: u32) {
        let low = &mut self.low[node as usize];
        *low = met.min(*low);
    }

    fn leave(&mut self, node: u32) {
        let low = self.low[node as usize];
        if let Some(&(before, _)) = self.way.last() {
            self.reaches(before, low);
        }
        if low == self.met[node as usize] {
            let number = self.found.ends.len() as u32;
            while let Some(member) = self.open.pop() {
                self.found.of[member as usize] = number;
                self.found.members.push(member);
                if member == node {
                    break;
                }
            }
            self.found.ends.push(self.found.members.len() as u32);
        }
    }
}
