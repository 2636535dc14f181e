//! Values in memory up to a size; the one not used for longest goes first.

use std::{collections::BTreeMap, sync::Mutex};

/// A bounded memory. Lost values are made again.
#[derive(Debug)]
pub struct LeastRecent<K, V> {
    most: usize,
    kept: Mutex<Kept<K, V>>,
}

#[derive(Debug)]
struct Kept<K, V> {
    values: BTreeMap<K, (V, usize, u64)>,
    size: usize,
    turn: u64,
}

impl<K: Ord + Clone, V: Clone> LeastRecent<K, V> {
    /// Keeps values up to this size in sum.
    #[must_use]
    pub fn new(most: usize) -> Self {
        Self {
            most,
            kept: Mutex::new(Kept {
                values: BTreeMap::new(),
                size: 0,
                turn: 0,
            }),
        }
    }

    fn kept(&self) -> std::sync::MutexGuard<'_, Kept<K, V>> {
        // A panic elsewhere leaves the map whole: every change is one step.
        self.kept
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
    }

    /// The value of a key, if it is still kept.
    pub fn get(&self, key: &K) -> Option<V> {
        let mut kept = self.kept();
        kept.turn += 1;
        let turn = kept.turn;
        let (value, _, used) = kept.values.get_mut(key)?;
        *used = turn;
        Some(value.clone())
    }

    /// Keeps a value of a size, and lets go what no longer fits.
    pub fn put(&self, key: K, value: V, size: usize) {
        let mut kept = self.kept();
        kept.turn += 1;
        let turn = kept.turn;
        if let Some((_, old, _)) = kept.values.insert(key, (value, size, turn)) {
            kept.size -= old;
        }
        kept.size += size;
        while kept.size > self.most && kept.values.len() > 1 {
            let oldest = kept
                .values
                .iter()
                .min_by_key(|(_, (_, _, used))| *used)
                .map(|(key, _)| key.clone());
            let Some((_, size, _)) = oldest.and_then(|key| kept.values.remove(&key)) else {
                break;
            };
            kept.size -= size;
        }
    }

    /// Forgets a key.
    pub fn forget(&self, key: &K) {
        let mut kept = self.kept();
        if let Some((_, size, _)) = kept.values.remove(key) {
            kept.size -= size;
        }
    }

    /// The sizes of all kept values in sum.
    pub fn size(&self) -> usize {
        self.kept().size
    }
}

#[cfg(test)]
mod tests {
    use super::LeastRecent;

    #[test]
    fn what_was_not_used_for_longest_goes_first() {
        let memory = LeastRecent::new(10);
        memory.put("a", 1, 4);
        memory.put("b", 2, 4);
        assert_eq!(memory.get(&"a"), Some(1));
        memory.put("c", 3, 4);
        assert_eq!(memory.get(&"b"), None);
        assert_eq!((memory.get(&"a"), memory.get(&"c")), (Some(1), Some(3)));
        assert_eq!(memory.size(), 8);
    }

    #[test]
    fn one_value_too_large_is_kept_alone() {
        let memory = LeastRecent::new(10);
        memory.put("a", 1, 4);
        memory.put("b", 2, 40);
        assert_eq!((memory.get(&"a"), memory.get(&"b")), (None, Some(2)));
    }
}
