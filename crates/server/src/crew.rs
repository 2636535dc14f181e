//! Long computations, kept from taking every core: the API goes on answering.

use std::sync::Arc;

use rayon::{ThreadPool, ThreadPoolBuilder};
use tokio::sync::Semaphore;

use crate::http::ApiError;

/// Places for long computations, one core left to the API where there are several.
///
/// Quick computations have threads of their own: in the threads that long ones share,
/// an edit would wait until a picture's tile is done.
#[derive(Debug, Clone)]
pub struct Crew {
    places: Arc<Semaphore>,
    quick: Arc<Semaphore>,
    quick_threads: Option<Arc<ThreadPool>>,
}

impl Default for Crew {
    fn default() -> Self {
        Self {
            places: Arc::new(Semaphore::new(long_places())),
            quick: Arc::new(Semaphore::new(4 * cores())),
            // A machine that gives no more threads computes in the shared ones.
            quick_threads: ThreadPoolBuilder::new()
                .num_threads(cores())
                .thread_name(|n| format!("quick-{n}"))
                .build()
                .ok()
                .map(Arc::new),
        }
    }
}

fn cores() -> usize {
    std::thread::available_parallelism().map_or(1, usize::from)
}

/// How many long computations run at once.
#[must_use]
pub fn long_places() -> usize {
    (cores() - 1).max(1)
}

impl Crew {
    /// Runs a long computation when there is a place.
    ///
    /// # Errors
    /// When it panicked; the log says where.
    pub async fn long<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> T + Send + 'static,
    ) -> Result<T, ApiError> {
        run(&self.places, work).await
    }

    /// Runs a computation of some milliseconds, off the threads that answer.
    ///
    /// # Errors
    /// As [`Crew::long`].
    pub async fn quick<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> T + Send + 'static,
    ) -> Result<T, ApiError> {
        let threads = self.quick_threads.clone();
        run(&self.quick, move || match threads {
            Some(threads) => threads.install(work),
            None => work(),
        })
        .await
    }
}

async fn run<T: Send + 'static>(
    places: &Arc<Semaphore>,
    work: impl FnOnce() -> T + Send + 'static,
) -> Result<T, ApiError> {
    let place = Arc::clone(places)
        .acquire_owned()
        .await
        .map_err(|error| ApiError::internal(&error))?;
    let span = tracing::Span::current();
    tokio::task::spawn_blocking(move || {
        let done = span.in_scope(work);
        drop(place);
        done
    })
    .await
    .map_err(|error| ApiError::internal(&error))
}
