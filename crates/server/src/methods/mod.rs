//! Each method alone: described, and run on a JSON input.

pub mod checks;
pub mod files;

use axum::{Json, extract::State};
use method::{Registered, Registry};
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::{Value, json};

use crate::{
    App,
    http::{Api, ApiError, At, Reply, body},
};
use files::Kept;

/// All methods of this build, in the order in which they are listed.
#[must_use]
pub fn registry() -> Registry {
    layout::methods::register(solid::methods::register(Registry::default()))
}

/// A method in a list.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct MethodCard {
    /// The name, such as `solid.measure`.
    pub name: String,
    /// What it is for, in a line.
    pub purpose: String,
}

/// A method, shown whole.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct MethodPage {
    /// The name, such as `solid.measure`.
    pub name: String,
    /// What it is for, in a line.
    pub purpose: String,
    /// JSON Schema of the input.
    pub input_schema: Value,
    /// JSON Schema of the output.
    pub output_schema: Value,
    /// Ranges of the input's numbers.
    pub bounds: Vec<BoundView>,
    /// The relations it computes by.
    pub equations: Vec<EquationView>,
    /// Where it holds and where it does not.
    pub limits: Vec<String>,
    /// The checks that the tests run.
    pub checks: Vec<checks::Check>,
}

/// The range of a number.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct BoundView {
    /// Pointer to the value; `*` stands for every item.
    pub path: String,
    /// The least value.
    pub least: f64,
    /// Whether `least` itself is allowed.
    pub least_allowed: bool,
    /// The greatest value, which is allowed.
    pub most: f64,
    /// What the number is, with its unit.
    pub words: String,
}

/// A relation.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct EquationView {
    /// What it gives.
    pub quantity: String,
    /// The relation.
    pub relation: String,
    /// Where it is from.
    pub source: String,
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.group("methods")
        .get("/api/methods", list, "All methods")
        .get(
            "/api/methods/{name}",
            get,
            "A method: schemas, relations, sources, limits, checks",
        )
        .post(
            "/api/methods/{name}",
            run,
            "Runs a method on its input; a mesh is {\"object\": upload id or tag}",
        )
}

async fn list(State(app): State<App>) -> Reply<Vec<MethodCard>> {
    let card = |method: &Registered| MethodCard {
        name: method.name.to_owned(),
        purpose: method.purpose.to_owned(),
    };
    Ok(Json(app.registry.iter().map(card).collect()))
}

fn method_of(app: &App, name: &str) -> Result<Registered, ApiError> {
    let found = app.registry.get(name).copied();
    found.ok_or_else(|| {
        ApiError::missing(format!(
            "method {:?}",
            name.chars().take(60).collect::<String>()
        ))
    })
}

/// A method, shown whole.
#[must_use]
pub fn page(method: &Registered) -> MethodPage {
    MethodPage {
        name: method.name.to_owned(),
        purpose: method.purpose.to_owned(),
        input_schema: method.input_schema(),
        output_schema: method.output_schema(),
        bounds: method
            .bounds
            .iter()
            .map(|bound| BoundView {
                path: bound.path.to_owned(),
                least: bound.least,
                least_allowed: bound.least_allowed,
                most: bound.most,
                words: bound.words.to_owned(),
            })
            .collect(),
        equations: method
            .equations
            .iter()
            .map(|equation| EquationView {
                quantity: equation.quantity.to_owned(),
                relation: equation.relation.to_owned(),
                source: equation.source.to_owned(),
            })
            .collect(),
        limits: method
            .limits
            .iter()
            .map(|limit| (*limit).to_owned())
            .collect(),
        checks: checks::of(method),
    }
}

async fn get(State(app): State<App>, At(name): At<String>) -> Reply<MethodPage> {
    Ok(Json(page(&method_of(&app, &name)?)))
}

async fn run(
    State(app): State<App>,
    At(name): At<String>,
    body::Json(input): body::Json,
) -> Reply<Value> {
    let method = method_of(&app, &name)?;
    let files = Kept::named_in(&app, &input).await?;
    let output = app
        .crew
        .long(move || method.run_json(&input, &files))
        .await??;
    Ok(Json(json!(output)))
}
