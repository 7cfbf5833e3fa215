//! The cheapest way to move amounts through a graph: least-cost flow by shortest paths, exact in whole numbers.
//!
//! Rule kept: among all largest flows, one of least cost (primal-dual method; Ahuja, Magnanti & Orlin, *Network Flows*,
//! 1993, section 9.8). Costs are not negative.

/// A directed graph with capacities and costs.
#[derive(Debug, Default)]
pub(crate) struct Graph {
    arcs: Vec<Arc>,
    arcs_of: Vec<Vec<usize>>,
}

#[derive(Clone, Copy, Debug)]
struct Arc {
    to: usize,
    capacity: i128,
    cost: i64,
}

impl Graph {
    pub fn with_nodes(count: usize) -> Graph {
        Graph { arcs: Vec::new(), arcs_of: vec![Vec::new(); count] }
    }

    /// Adds an arc and returns its number.
    pub fn arc(&mut self, from: usize, to: usize, capacity: i128, cost: i64) -> usize {
        let number = self.arcs.len();
        self.arcs.push(Arc { to, capacity, cost });
        self.arcs.push(Arc { to: from, capacity: 0, cost: -cost });
        self.arcs_of[from].push(number);
        self.arcs_of[to].push(number + 1);
        number
    }

    /// What flows over arc `number` once sent.
    pub fn flow(&self, number: usize) -> i128 {
        self.arcs[number ^ 1].capacity
    }

    /// Sends up to `most` from `source` to `sink` at least cost; returns (amount, cost).
    pub fn send(&mut self, source: usize, sink: usize, most: i128) -> (i128, i128) {
        let (mut sent, mut cost) = (0, 0);
        while sent < most {
            let distance = self.distances(source);
            let Some(length) = distance[sink] else { break };
            // All shortest paths of this length at once.
            loop {
                let hops = self.hops(source, &distance);
                if hops[sink] == usize::MAX {
                    break;
                }
                let mut next = vec![0; self.arcs_of.len()];
                let mut search = Search { sink, distance: &distance, hops: &hops, next: &mut next };
                let amount = self.push(source, most - sent, &mut search);
                if amount == 0 {
                    break;
                }
                sent += amount;
                cost += amount * i128::from(length);
            }
        }
        (sent, cost)
    }

    /// Cheapest distances by label correction: costs against an arc are negative.
    fn distances(&self, source: usize) -> Vec<Option<i64>> {
        let mut distance = vec![None; self.arcs_of.len()];
        let mut waiting = vec![false; self.arcs_of.len()];
        distance[source] = Some(0);
        let mut queue = std::collections::VecDeque::from([source]);
        while let Some(node) = queue.pop_front() {
            waiting[node] = false;
            let here = distance[node].expect("queued nodes were reached");
            for &number in &self.arcs_of[node] {
                let arc = self.arcs[number];
                if arc.capacity > 0 && distance[arc.to].is_none_or(|there| there > here + arc.cost) {
                    distance[arc.to] = Some(here + arc.cost);
                    if !std::mem::replace(&mut waiting[arc.to], true) {
                        queue.push_back(arc.to);
                    }
                }
            }
        }
        distance
    }

    fn is_on_shortest(&self, from: usize, number: usize, distance: &[Option<i64>]) -> bool {
        let arc = self.arcs[number];
        match (distance[from], distance[arc.to]) {
            (Some(here), Some(there)) => arc.capacity > 0 && here + arc.cost == there,
            _ => false,
        }
    }

    fn hops(&self, source: usize, distance: &[Option<i64>]) -> Vec<usize> {
        let mut hops = vec![usize::MAX; self.arcs_of.len()];
        hops[source] = 0;
        let mut queue = std::collections::VecDeque::from([source]);
        while let Some(node) = queue.pop_front() {
            for &number in &self.arcs_of[node] {
                let to = self.arcs[number].to;
                if hops[to] == usize::MAX && self.is_on_shortest(node, number, distance) {
                    hops[to] = hops[node] + 1;
                    queue.push_back(to);
                }
            }
        }
        hops
    }

    fn push(&mut self, node: usize, most: i128, search: &mut Search) -> i128 {
        if node == search.sink {
            return most;
        }
        let mut sent = 0;
        while sent < most && search.next[node] < self.arcs_of[node].len() {
            let number = self.arcs_of[node][search.next[node]];
            let arc = self.arcs[number];
            let onward = search.hops[arc.to] == search.hops[node] + 1;
            if onward && self.is_on_shortest(node, number, search.distance) {
                let amount = self.push(arc.to, arc.capacity.min(most - sent), search);
                self.arcs[number].capacity -= amount;
                self.arcs[number ^ 1].capacity += amount;
                sent += amount;
                if sent == most {
                    break;
                }
            }
            search.next[node] += 1;
        }
        sent
    }
}

struct Search<'a> {
    sink: usize,
    distance: &'a [Option<i64>],
    hops: &'a [usize],
    next: &'a mut Vec<usize>,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Taha, Operations Research: An Introduction, transportation chapter: least cost 435, and the plan is unique.
    #[test]
    fn transport_at_least_cost() {
        let (supply, demand) = ([15, 25, 10], [5, 15, 15, 15]);
        let costs = [[10, 2, 20, 11], [12, 7, 9, 20], [4, 14, 16, 18]];
        let mut graph = Graph::with_nodes(9);
        for (row, amount) in supply.into_iter().enumerate() {
            graph.arc(0, 1 + row, amount, 0);
        }
        for (column, amount) in demand.into_iter().enumerate() {
            graph.arc(4 + column, 8, amount, 0);
        }
        let cells: Vec<Vec<usize>> = (0..3)
            .map(|row| (0..4).map(|column| graph.arc(1 + row, 4 + column, 100, costs[row][column])).collect())
            .collect();
        assert_eq!(graph.send(0, 8, i128::MAX), (50, 435));
        let plan: Vec<Vec<i128>> = cells.iter().map(|row| row.iter().map(|&arc| graph.flow(arc)).collect()).collect();
        assert_eq!(plan, [[0, 5, 0, 10], [0, 10, 15, 0], [5, 0, 0, 5]]);
    }

    /// Computed with SciPy 1.17 (linprog, HiGHS).
    #[test]
    fn small_graph_at_two_amounts() {
        for (most, expected, flows) in [(5, (5, 28), [2, 3, 2, 0, 5]), (99, (7, 44), [4, 3, 2, 2, 5])] {
            let mut graph = Graph::with_nodes(4);
            let arcs = [(0, 1, 4, 2), (0, 2, 3, 4), (1, 2, 2, 1), (1, 3, 3, 6), (2, 3, 5, 2)]
                .map(|(from, to, capacity, cost)| graph.arc(from, to, capacity, cost));
            assert_eq!(graph.send(0, 3, most), expected);
            assert_eq!(arcs.map(|arc| graph.flow(arc)), flows);
        }
    }
}
