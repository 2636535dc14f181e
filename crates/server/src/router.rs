//! All routes, and what every request passes on its way to one.

use std::{any::Any, time::Duration};

use axum::{
    Json, Router,
    extract::{DefaultBodyLimit, Request, State},
    http::{HeaderValue, StatusCode, header},
    middleware::{from_fn, from_fn_with_state},
    response::{IntoResponse, Response},
    routing::get,
};
use bytes::Bytes;
use serde_json::{Value, json};
use tower_http::{
    catch_panic::CatchPanicLayer,
    compression::CompressionLayer,
    timeout::{RequestBodyTimeoutLayer, TimeoutLayer},
};

use crate::{
    App, bench, commissions, events, ground_materials,
    http::{Api, ApiError, guard, metrics},
    jobs, methods, people, taking_in, today, web, yard,
};

/// Bytes of a JSON body.
const MOST_BYTES: usize = 4 << 20;
/// How long an answer may take to begin: drawing a large layout takes long.
const LONGEST: Duration = Duration::from_secs(180);
/// How long a body may be silent on its way.
const SILENCE: Duration = Duration::from_secs(30);

fn api() -> (Router<App>, Value) {
    Api::default()
        .with(people::routes::routes)
        .with(today::routes)
        .with(yard::routes)
        .with(taking_in::routes)
        .with(bench::routes::routes)
        .with(ground_materials::routes)
        .with(commissions::routes)
        .with(methods::routes)
        .with(jobs::routes::routes)
        .with(events::routes)
        .finish()
}

/// The API's description (OpenAPI 3.1).
#[must_use]
pub fn openapi() -> Value {
    api().1
}

/// The whole server as one service.
pub fn router(app: App) -> Router {
    let (routes, description) = api();
    let description = Bytes::from(description.to_string());
    let shown = move || async move { ([(header::CONTENT_TYPE, "application/json")], description) };
    let with = |app: &App| app.clone();
    routes
        .route("/api/openapi.json", get(shown))
        .route("/health", get(health))
        .route("/metrics", get(metrics::show))
        .fallback(web::client)
        .method_not_allowed_fallback(not_allowed)
        .layer(DefaultBodyLimit::max(MOST_BYTES))
        .layer(from_fn_with_state(with(&app), guard::signed_in))
        .layer(from_fn_with_state(with(&app), guard::same_origin))
        .layer(from_fn(guard::headers))
        .layer(CompressionLayer::new())
        .layer(RequestBodyTimeoutLayer::new(SILENCE))
        .layer(TimeoutLayer::with_status_code(
            StatusCode::GATEWAY_TIMEOUT,
            LONGEST,
        ))
        .layer(CatchPanicLayer::custom(panicked))
        .layer(from_fn_with_state(with(&app), metrics::count))
        .with_state(app)
}

async fn health(State(app): State<App>) -> Response {
    match app.store.ping().await {
        Ok(()) => Json(json!({ "ok": true })).into_response(),
        Err(error) => {
            tracing::error!(%error, "the store does not answer");
            (
                StatusCode::SERVICE_UNAVAILABLE,
                Json(json!({ "ok": false })),
            )
                .into_response()
        }
    }
}

async fn not_allowed(request: Request) -> ApiError {
    ApiError::new(
        StatusCode::METHOD_NOT_ALLOWED,
        "method_not_allowed",
        format!("{} is not done here", request.method()),
        "the API's description lists what is",
    )
}

fn panicked(panic: Box<dyn Any + Send>) -> Response {
    let words = panic
        .downcast_ref::<String>()
        .map(String::as_str)
        .or_else(|| panic.downcast_ref::<&str>().copied())
        .unwrap_or("no words");
    let mut response = ApiError::internal(&format!("a handler panicked: {words}")).into_response();
    // What went before may have set nothing yet.
    response.headers_mut().insert(
        "x-content-type-options",
        HeaderValue::from_static("nosniff"),
    );
    response
}
