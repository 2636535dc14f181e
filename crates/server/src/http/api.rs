//! The routes and their description, which grow together.

use axum::{
    Router,
    handler::Handler,
    routing::{MethodFilter, MethodRouter, on},
};
use schemars::SchemaGenerator;
use serde_json::{Map, Value, json};

use super::describe::{Described, Operation, schemas};
use crate::App;

/// Routes with their OpenAPI description.
pub struct Api {
    router: Router<App>,
    paths: Map<String, Value>,
    schemas: SchemaGenerator,
    group: &'static str,
}

impl Default for Api {
    fn default() -> Self {
        Self {
            router: Router::new(),
            paths: Map::new(),
            schemas: schemas(),
            group: "",
        }
    }
}

impl Api {
    /// The group under which the next routes are listed.
    #[must_use]
    pub fn group(mut self, group: &'static str) -> Self {
        self.group = group;
        self
    }

    /// Adds the routes of a module.
    #[must_use]
    pub fn with(self, routes: impl FnOnce(Self) -> Self) -> Self {
        routes(self)
    }

    fn add<H, T, D>(
        mut self,
        filter: MethodFilter,
        word: &str,
        path: &'static str,
        handler: H,
        summary: &str,
    ) -> Self
    where
        H: Handler<T, App> + Described<D>,
        T: 'static,
    {
        let names: Vec<String> = path
            .split('/')
            .filter_map(|part| part.strip_prefix('{')?.split('}').next().map(str::to_owned))
            .collect();
        let mut operation = Operation {
            schemas: &mut self.schemas,
            object: Map::new(),
            names,
        };
        H::describe(&mut operation);
        let mut object = operation.object;
        object.insert("summary".to_owned(), json!(summary));
        object.insert("operationId".to_owned(), json!(operation_id(word, path)));
        object.insert("tags".to_owned(), json!([self.group]));
        let item = self.paths.entry(path).or_insert_with(|| json!({}));
        item[word] = Value::Object(object);
        let route: MethodRouter<App> = on(filter, handler);
        self.router = self.router.route(path, route);
        self
    }

    /// Adds a GET route.
    #[must_use]
    pub fn get<H, T, D>(self, path: &'static str, handler: H, summary: &str) -> Self
    where
        H: Handler<T, App> + Described<D>,
        T: 'static,
    {
        self.add(MethodFilter::GET, "get", path, handler, summary)
    }

    /// Adds a POST route.
    #[must_use]
    pub fn post<H, T, D>(self, path: &'static str, handler: H, summary: &str) -> Self
    where
        H: Handler<T, App> + Described<D>,
        T: 'static,
    {
        self.add(MethodFilter::POST, "post", path, handler, summary)
    }

    /// Adds a PUT route.
    #[must_use]
    pub fn put<H, T, D>(self, path: &'static str, handler: H, summary: &str) -> Self
    where
        H: Handler<T, App> + Described<D>,
        T: 'static,
    {
        self.add(MethodFilter::PUT, "put", path, handler, summary)
    }

    /// Adds a PATCH route.
    #[must_use]
    pub fn patch<H, T, D>(self, path: &'static str, handler: H, summary: &str) -> Self
    where
        H: Handler<T, App> + Described<D>,
        T: 'static,
    {
        self.add(MethodFilter::PATCH, "patch", path, handler, summary)
    }

    /// Adds a DELETE route.
    #[must_use]
    pub fn delete<H, T, D>(self, path: &'static str, handler: H, summary: &str) -> Self
    where
        H: Handler<T, App> + Described<D>,
        T: 'static,
    {
        self.add(MethodFilter::DELETE, "delete", path, handler, summary)
    }

    /// The routes, and their description.
    pub fn finish(mut self) -> (Router<App>, Value) {
        let named: Map<String, Value> = self.schemas.take_definitions(true);
        let description = json!({
            "openapi": "3.1.0",
            "info": {
                "title": "Lentic",
                "version": env!("CARGO_PKG_VERSION"),
                "description": "One workshop's yard, layouts and commissions. Lengths are mm, masses kg, angles degrees; keys carry units. A change names the version that it saw; a stale one is refused with 409.",
            },
            "paths": self.paths,
            "components": { "schemas": named },
        });
        (self.router, description)
    }
}

/// A name for an operation: `get_pieces_tag`.
fn operation_id(word: &str, path: &str) -> String {
    let parts = path
        .trim_start_matches("/api")
        .split(['/', '.', '-'])
        .map(|part| part.trim_matches(['{', '}']))
        .filter(|part| !part.is_empty());
    std::iter::once(word)
        .chain(parts)
        .collect::<Vec<_>>()
        .join("_")
}
