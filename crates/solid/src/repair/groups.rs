//! What belongs together: a union-find whose root is the lowest member.

/// Disjoint sets of the numbers 0..n.
#[derive(Debug, Clone)]
pub(super) struct Groups {
    up: Vec<u32>,
}

impl Groups {
    /// Every number alone.
    pub(super) fn new(n: usize) -> Self {
        Self {
            up: (0..u32::MAX).take(n).collect(),
        }
    }

    /// The lowest member of the group of `i`.
    pub(super) fn find(&mut self, mut i: u32) -> u32 {
        while self.up[i as usize] != i {
            let next = self.up[self.up[i as usize] as usize];
            self.up[i as usize] = next;
            i = next;
        }
        i
    }

    /// Makes one group of two.
    pub(super) fn join(&mut self, a: u32, b: u32) {
        let (a, b) = (self.find(a), self.find(b));
        self.up[a.max(b) as usize] = a.min(b);
    }

    /// The group of each number.
    pub(super) fn roots(mut self) -> Vec<u32> {
        (0..u32::MAX)
            .take(self.up.len())
            .map(|i| self.find(i))
            .collect()
    }
}
