//! Signing in and out, the first start, preferences.

use std::net::SocketAddr;

use axum::{
    Json,
    extract::State,
    http::{HeaderMap, StatusCode},
};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::json;
use store::{By, Units, User};

use super::{Who, password, session};
use crate::{
    App,
    clock::now_ms,
    http::{Api, ApiError, Body, Reply, describe::Takes},
};

/// The setting that keeps the demo's units.
const DEMO_UNITS: &str = "demo_units";
/// The setting that names the shop.
pub const SHOP: &str = "shop";

/// Who is here, and how the workshop is set.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Session {
    /// Whether someone is signed in.
    pub signed_in: bool,
    /// Who.
    pub user: Option<UserView>,
    /// Whether the owner's password is still to be set.
    pub first_start: bool,
    /// Whether this is the demo, which needs no signing in.
    pub demo: bool,
    /// The workshop.
    pub shop: Shop,
    /// How lengths and masses are shown.
    pub units: UnitsWord,
}

/// A user as the client sees it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct UserView {
    /// Name.
    pub name: String,
    /// `owner` or `builder`.
    pub role: String,
}

/// The workshop.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct Shop {
    /// Its name.
    pub name: String,
    /// ISO 4217 code of its prices.
    pub currency: String,
}

impl Default for Shop {
    fn default() -> Self {
        Self {
            name: "Workshop".to_owned(),
            currency: "EUR".to_owned(),
        }
    }
}

/// Units on the screen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum UnitsWord {
    /// Millimetres, litres, kilograms.
    Metric,
    /// Inches, gallons, pounds.
    Us,
}

impl From<Units> for UnitsWord {
    fn from(units: Units) -> Self {
        match units {
            Units::Metric => Self::Metric,
            Units::Us => Self::Us,
        }
    }
}

impl From<UnitsWord> for Units {
    fn from(units: UnitsWord) -> Self {
        match units {
            UnitsWord::Metric => Self::Metric,
            UnitsWord::Us => Self::Us,
        }
    }
}

/// Name and password.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Credentials {
    /// Name.
    pub name: String,
    /// Password.
    pub password: String,
}

/// What a user prefers.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Preferences {
    /// Units on the screen.
    pub units: UnitsWord,
}

/// Where a request came from.
#[derive(Debug, Clone)]
pub struct CameFrom(pub String);

impl<S: Send + Sync> axum::extract::FromRequestParts<S> for CameFrom {
    type Rejection = std::convert::Infallible;

    async fn from_request_parts(
        parts: &mut axum::http::request::Parts,
        _: &S,
    ) -> Result<Self, Self::Rejection> {
        let peer = parts
            .extensions
            .get::<axum::extract::ConnectInfo<SocketAddr>>();
        Ok(Self(
            peer.map_or_else(String::new, |peer| peer.0.ip().to_string()),
        ))
    }
}

impl Takes for CameFrom {}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.group("session")
        .get(
            "/api/session",
            get,
            "Who is here, and how the workshop is set",
        )
        .post(
            "/api/first-start",
            first_start,
            "Sets the owner's name and password, once",
        )
        .post(
            "/api/session",
            sign_in,
            "Signs in and sets the session's cookie",
        )
        .delete("/api/session", sign_out, "Signs out")
        .put("/api/preferences", prefer, "Sets what the user prefers")
}

/// The one of a session's cookie; in the demo, whoever is there.
///
/// # Errors
/// When the store fails.
pub async fn present(app: &App, headers: &HeaderMap) -> Result<Option<Who>, ApiError> {
    if app.config.demo {
        let setting = app.store.setting(DEMO_UNITS).await?;
        let is_us = setting.is_some_and(|s| s.value == json!("us"));
        let units = if is_us { Units::Us } else { Units::Metric };
        return Ok(Some(Who::demo(units)));
    }
    let Some(token) = session::of(headers) else {
        return Ok(None);
    };
    let user = app.store.session_user(&token, now_ms()).await?;
    Ok(user.map(Who::from))
}

/// The workshop's name and currency.
///
/// # Errors
/// When the store fails.
pub async fn shop(app: &App) -> Result<Shop, ApiError> {
    let setting = app.store.setting(SHOP).await?;
    Ok(setting
        .and_then(|setting| serde_json::from_value(setting.value).ok())
        .unwrap_or_default())
}

async fn view(app: &App, who: Option<&Who>) -> Result<Session, ApiError> {
    Ok(Session {
        signed_in: who.is_some(),
        user: who.map(|who| UserView {
            name: who.name.clone(),
            role: who.role.clone(),
        }),
        first_start: !app.config.demo && app.store.is_first_start().await?,
        demo: app.config.demo,
        shop: shop(app).await?,
        units: who.map_or(UnitsWord::Metric, |who| who.units.into()),
    })
}

async fn get(State(app): State<App>, headers: HeaderMap) -> Reply<Session> {
    let who = present(&app, &headers).await?;
    Ok(Json(view(&app, who.as_ref()).await?))
}

type Signed = Result<(HeaderMap, Json<Session>), ApiError>;

async fn begin(app: &App, headers: &HeaderMap, user: User) -> Signed {
    let token = session::token()?;
    let now = now_ms();
    let by = By::new(&user.name, now);
    let user = app
        .store
        .begin_session(&by, user.id, &token, now + session::LASTS_MS)
        .await?;
    let set = session::set(Some(&token), session::is_secure(headers))?;
    Ok((set, Json(view(app, Some(&user.into())).await?)))
}

async fn first_start(
    State(app): State<App>,
    headers: HeaderMap,
    Body(asked): Body<Credentials>,
) -> Signed {
    if app.config.demo || !app.store.is_first_start().await? {
        return Err(ApiError::new(
            StatusCode::CONFLICT,
            "exists",
            "the owner's password is set already",
            "sign in",
        ));
    }
    check_name(&asked.name)?;
    password::check(&asked.password)?;
    let secret = asked.password.clone();
    let hash = app.crew.long(move || password::hash(&secret)).await??;
    let by = By::new(&asked.name, now_ms());
    let user = app.store.add_first_user(&by, &asked.name, &hash).await?;
    begin(&app, &headers, user).await
}

fn check_name(name: &str) -> Result<(), ApiError> {
    let n = name.chars().count();
    if name.trim() == name && (1..=60).contains(&n) && !name.chars().any(char::is_control) {
        return Ok(());
    }
    Err(ApiError::refused(
        "/name",
        "a name has 1 to 60 characters and no spaces at its ends",
        "write the name by which you want to be known here",
    ))
}

async fn sign_in(
    State(app): State<App>,
    from: CameFrom,
    headers: HeaderMap,
    Body(asked): Body<Credentials>,
) -> Signed {
    let keys = [
        format!("name {}", asked.name.to_lowercase()),
        format!("from {}", from.0),
    ];
    if let Some(wait_s) = app.attempts.wait_s(&keys, now_ms()) {
        return Err(too_often(wait_s));
    }
    if asked.password.chars().count() > password::MOST {
        return Err(wrong());
    }
    let user = app.store.user_named(&asked.name).await?;
    let (hash, secret) = (user.as_ref().map(|u| u.password.clone()), asked.password);
    let right = app
        .crew
        .long(move || match hash {
            Some(hash) => password::is(&secret, &hash),
            None => {
                password::pretend(&secret);
                false
            }
        })
        .await?;
    match user.filter(|_| right) {
        Some(user) => {
            app.attempts.succeed(&keys);
            begin(&app, &headers, user).await
        }
        None => {
            app.attempts.fail(&keys, now_ms());
            Err(wrong())
        }
    }
}

fn wrong() -> ApiError {
    ApiError::new(
        StatusCode::UNAUTHORIZED,
        "wrong_password",
        "name and password don't belong together",
        "check both and try again",
    )
}

fn too_often(wait_s: u64) -> ApiError {
    let mut error = ApiError::new(
        StatusCode::TOO_MANY_REQUESTS,
        "too_often",
        "too many attempts to sign in failed",
        format!("wait {wait_s} s and try again"),
    );
    error.retry_after_s = Some(wait_s);
    error
}

async fn sign_out(State(app): State<App>, headers: HeaderMap) -> Signed {
    if let Some(token) = session::of(&headers) {
        let who = present(&app, &headers).await?;
        let name = who.map_or_else(|| "nobody".to_owned(), |who| who.name);
        let by = By::new(name, now_ms());
        app.store.end_session(&by, &token).await?;
    }
    let set = session::set(None, session::is_secure(&headers))?;
    let who = if app.config.demo {
        present(&app, &headers).await?
    } else {
        None
    };
    Ok((set, Json(view(&app, who.as_ref()).await?)))
}

async fn prefer(
    State(app): State<App>,
    who: Who,
    Body(asked): Body<Preferences>,
) -> Reply<Session> {
    let units = Units::from(asked.units);
    match who.id {
        Some(id) => {
            app.store.set_units(&who.by(), id, units).await?;
        }
        None => {
            let word = json!(units.word());
            app.store.set(&who.by(), DEMO_UNITS, None, word).await?;
        }
    }
    Ok(Json(view(&app, Some(&Who { units, ..who })).await?))
}
