//! How far a job is, and whether it is still wanted.

use std::sync::{
    Arc, Mutex,
    atomic::{AtomicBool, Ordering::Relaxed},
};

use serde_json::{Value, json};

use crate::http::ApiError;

/// Why a job gave no result.
#[derive(Debug, Clone)]
pub enum Ended {
    /// Nobody wants it any more.
    Cancelled,
    /// It can't be done.
    Failed(Box<ApiError>),
}

impl From<ApiError> for Ended {
    fn from(error: ApiError) -> Self {
        Self::Failed(Box::new(error))
    }
}

impl From<store::StoreError> for Ended {
    fn from(error: store::StoreError) -> Self {
        ApiError::from(error).into()
    }
}

impl Ended {
    /// What is kept of a failure.
    #[must_use]
    pub fn told(error: &ApiError) -> Value {
        json!(error.told)
    }
}

/// A job's way to say how far it is. Cheap to clone; all clones are the same job's.
#[derive(Debug, Clone, Default)]
pub struct Progress(Arc<Shared>);

#[derive(Debug, Default)]
struct Shared {
    at: Mutex<(f64, String)>,
    is_cancelled: AtomicBool,
}

impl Progress {
    /// Says how far the job is, 0 to 1, and what it does now.
    pub fn step(&self, share: f64, words: impl Into<String>) {
        let mut at = self
            .0
            .at
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner);
        *at = (share, words.into());
    }

    /// How far it is.
    #[must_use]
    pub fn at(&self) -> (f64, String) {
        self.0
            .at
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
            .clone()
    }

    /// Says that nobody wants it any more.
    pub fn cancel(&self) {
        self.0.is_cancelled.store(true, Relaxed);
    }

    /// Whether somebody still wants it.
    #[must_use]
    pub fn is_cancelled(&self) -> bool {
        self.0.is_cancelled.load(Relaxed)
    }

    /// Goes on, if somebody still wants it.
    ///
    /// # Errors
    /// [`Ended::Cancelled`].
    pub fn go_on(&self, share: f64, words: &str) -> Result<(), Ended> {
        self.step(share, words);
        if self.is_cancelled() {
            return Err(Ended::Cancelled);
        }
        Ok(())
    }
}
