//! What every handler has at hand.

use std::{ops::Deref, sync::Arc};

use method::Registry;
use store::Store;

use crate::{
    bench::{open::Benches, shapes::Shapes},
    crew::Crew,
    http::metrics::Metrics,
    jobs::Desk,
    people::attempts::Attempts,
    yard::{fit::Finder, levels::Levels},
};

/// How the server was started.
#[derive(Debug, Clone, Default)]
pub struct Config {
    /// Whether everything works without signing in: a demo's data on a loopback address.
    pub demo: bool,
}

/// The running server.
#[derive(Clone)]
pub struct App(Arc<Parts>);

/// Its parts.
pub struct Parts {
    /// Rows and files.
    pub store: Store,
    /// How it was started.
    pub config: Config,
    /// Every method.
    pub registry: Registry,
    /// Measured shapes in memory.
    pub shapes: Shapes,
    /// Open layouts in memory.
    pub benches: Benches,
    /// Reduced scans in memory.
    pub levels: Levels,
    /// The yard as fit search knows it.
    pub finder: Finder,
    /// Places for computations.
    pub crew: Crew,
    /// Who tried to sign in.
    pub attempts: Attempts,
    /// What jobs wait for.
    pub desk: Desk,
    /// What is counted.
    pub metrics: Metrics,
}

impl App {
    /// A server on a store.
    #[must_use]
    pub fn new(store: Store, config: Config, registry: Registry) -> Self {
        Self(Arc::new(Parts {
            store,
            config,
            registry,
            shapes: Shapes::default(),
            benches: Benches::default(),
            levels: Levels::default(),
            finder: Finder::default(),
            crew: Crew::default(),
            attempts: Attempts::default(),
            desk: Desk::default(),
            metrics: Metrics::default(),
        }))
    }
}

impl Deref for App {
    type Target = Parts;

    fn deref(&self) -> &Parts {
        &self.0
    }
}
