//! The running server, from opening the store to the last answer.

use std::{net::SocketAddr, time::Duration};

use store::{Place, Store, StoreError};
use tokio::{net::TcpListener, task::JoinHandle};

use crate::{
    App, Config, crew,
    demo::{self, DemoError},
    events,
    jobs::desk,
    methods, router,
    yard::fit,
};

/// How long work under way may take to end.
const LAST_WORK: Duration = Duration::from_secs(10);

/// How the server is to be started.
#[derive(Debug, Clone)]
pub struct Options {
    /// A folder, or `postgres://…`.
    pub data: String,
    /// Where scans and pictures are kept, when not in the data folder.
    pub objects: Option<String>,
    /// The address to listen on.
    pub listen: SocketAddr,
    /// Whether an empty data folder becomes the demo.
    pub demo: bool,
}

/// Why the server doesn't run.
#[derive(Debug, thiserror::Error)]
pub enum ServeError {
    /// The data can't be opened.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The demo can't be made.
    #[error(transparent)]
    Demo(#[from] DemoError),
    /// The address can't be listened on.
    #[error("{address} can't be listened on: {error}; choose another with --listen")]
    Address {
        /// Which.
        address: SocketAddr,
        /// Why.
        error: std::io::Error,
    },
    /// The machine gives no threads or no signals.
    #[error("the server can't run: {0}")]
    Machine(#[from] std::io::Error),
}

/// Serves until the process is told to end; `ready` hears the address.
///
/// # Errors
/// When the data can't be opened or the address can't be listened on.
pub fn serve(options: &Options, ready: impl FnOnce(SocketAddr, bool)) -> Result<(), ServeError> {
    // One core is left to the API where there are several. Whoever has set the pool
    // before, a test for instance, has had a reason.
    let _ = rayon::ThreadPoolBuilder::new()
        .num_threads(crew::long_places())
        .build_global();
    tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build()?
        .block_on(run(options, ready))
}

async fn run(options: &Options, ready: impl FnOnce(SocketAddr, bool)) -> Result<(), ServeError> {
    let store = Store::open(&Place {
        data: options.data.clone(),
        objects: options.objects.clone(),
    })
    .await?;
    if options.demo {
        demo::begin(&store).await?;
    }
    let is_demo = demo::is_one(&store).await?;
    let listener =
        TcpListener::bind(options.listen)
            .await
            .map_err(|error| ServeError::Address {
                address: options.listen,
                error,
            })?;
    let address = listener.local_addr()?;
    let config = Config {
        // What anyone on the network could reach asks for a password, demo or not.
        demo: is_demo && address.ip().is_loopback(),
    };
    let is_open = config.demo;
    let app = App::new(store, config, methods::registry());
    let work = start(&app, is_demo);
    ready(address, is_open);
    tracing::info!(%address, demo = is_open, "listening");
    let service = router(app.clone()).into_make_service_with_connect_info::<SocketAddr>();
    let closing = app.clone();
    axum::serve(listener, service)
        .with_graceful_shutdown(async move {
            told_to_end().await;
            tracing::info!("ending");
            closing.desk.close();
        })
        .await?;
    for one in work {
        if tokio::time::timeout(LAST_WORK, one).await.is_err() {
            tracing::warn!("work under way was left");
        }
    }
    app.store.close().await;
    Ok(())
}

/// Starts what runs beside the routes.
pub fn start(app: &App, is_demo: bool) -> Vec<JoinHandle<()>> {
    let mut work = desk::workers(app);
    work.push(tokio::spawn(fit::follow(app.clone())));
    let counted = app.clone();
    work.push(tokio::spawn(async move {
        tokio::select! {
            () = events::count(counted.clone()) => {}
            () = counted.desk.closed() => {}
        }
    }));
    if is_demo {
        let app = app.clone();
        work.push(tokio::spawn(async move {
            if let Err(error) = demo::make(&app).await {
                tracing::error!(%error, "the demo could not be made");
            }
        }));
    }
    work
}

/// Waits for SIGINT or SIGTERM.
async fn told_to_end() {
    let interrupted = async {
        if let Err(error) = tokio::signal::ctrl_c().await {
            tracing::error!(%error, "SIGINT can't be heard");
            std::future::pending::<()>().await;
        }
    };
    #[cfg(unix)]
    let terminated = async {
        use tokio::signal::unix::{SignalKind, signal};
        match signal(SignalKind::terminate()) {
            Ok(mut signal) => {
                signal.recv().await;
            }
            Err(error) => {
                tracing::error!(%error, "SIGTERM can't be heard");
                std::future::pending::<()>().await;
            }
        }
    };
    #[cfg(not(unix))]
    let terminated = std::future::pending::<()>();
    tokio::select! {
        () = interrupted => {}
        () = terminated => {}
    }
}
