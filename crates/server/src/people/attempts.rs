//! How often someone may try to sign in.

use std::{collections::BTreeMap, sync::Mutex};

/// Failures after which a name or an address must wait.
const MOST: u32 = 5;
/// How long it waits, ms.
const WAIT_MS: i64 = 5 * 60 * 1000;
/// Names and addresses that are remembered.
const REMEMBERED: usize = 10_000;

/// Failed attempts, by name and by address.
#[derive(Debug, Default)]
pub struct Attempts {
    failed: Mutex<BTreeMap<String, (u32, i64)>>,
}

impl Attempts {
    fn failed(&self) -> std::sync::MutexGuard<'_, BTreeMap<String, (u32, i64)>> {
        self.failed
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
    }

    /// Seconds to wait before another attempt; nothing when it may be made.
    pub fn wait_s(&self, keys: &[String], now_ms: i64) -> Option<u64> {
        let failed = self.failed();
        keys.iter()
            .filter_map(|key| failed.get(key))
            .filter(|(n, at_ms)| *n >= MOST && now_ms < at_ms + WAIT_MS)
            .map(|(_, at_ms)| (at_ms + WAIT_MS - now_ms) as u64 / 1000 + 1)
            .max()
    }

    /// Notes a failure.
    pub fn fail(&self, keys: &[String], now_ms: i64) {
        let mut failed = self.failed();
        if failed.len() > REMEMBERED {
            failed.retain(|_, (_, at_ms)| now_ms < *at_ms + WAIT_MS);
        }
        for key in keys {
            let (n, at_ms) = failed.entry(key.clone()).or_insert((0, now_ms));
            // An old failure no longer counts.
            if now_ms >= *at_ms + WAIT_MS {
                *n = 0;
            }
            (*n, *at_ms) = (*n + 1, now_ms);
        }
    }

    /// Forgets the failures of someone who signed in.
    pub fn succeed(&self, keys: &[String]) {
        let mut failed = self.failed();
        for key in keys {
            failed.remove(key);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_sixth_attempt_waits_and_time_heals() {
        let attempts = Attempts::default();
        let keys = ["name ada".to_owned()];
        for at_ms in 0..5 {
            assert_eq!(attempts.wait_s(&keys, at_ms), None);
            attempts.fail(&keys, at_ms);
        }
        assert_eq!(attempts.wait_s(&keys, 5), Some(300));
        assert_eq!(attempts.wait_s(&["name bo".to_owned()], 5), None);
        assert_eq!(attempts.wait_s(&keys, WAIT_MS + 4), None);
        attempts.fail(&keys, WAIT_MS + 4);
        assert_eq!(attempts.wait_s(&keys, WAIT_MS + 5), None);
    }

    #[test]
    fn signing_in_forgets() {
        let attempts = Attempts::default();
        let keys = ["name ada".to_owned()];
        (0..5).for_each(|at_ms| attempts.fail(&keys, at_ms));
        attempts.succeed(&keys);
        assert_eq!(attempts.wait_s(&keys, 6), None);
    }
}
