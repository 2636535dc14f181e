//! What a handler takes and gives, read off its own types for the API's description.

use axum::{Json, extract::State, response::Response};
use schemars::{JsonSchema, SchemaGenerator, generate::SchemaSettings};
use serde_json::{Map, Value, json};

use super::{
    ApiError,
    body::{At, Body, Params},
    error::Refusal,
    reply::{Accepted, Created, File, Kind, Nothing},
};

/// One operation while it is described.
#[derive(Debug)]
pub struct Operation<'a> {
    /// Makes schemas and collects the named ones.
    pub schemas: &'a mut SchemaGenerator,
    /// The operation's object.
    pub object: Map<String, Value>,
    /// The names in the path's braces.
    pub names: Vec<String>,
}

impl Operation<'_> {
    /// Adds an answer.
    pub fn answer(&mut self, status: &str, words: &str, content: Option<(&str, Value)>) {
        let mut answer = json!({ "description": words });
        if let Some((kind, schema)) = content {
            answer["content"] = json!({ kind: { "schema": schema } });
        }
        let answers = self.object.entry("responses").or_insert_with(|| json!({}));
        answers[status] = answer;
    }

    fn schema<T: JsonSchema>(&mut self) -> Value {
        self.schemas.subschema_for::<T>().to_value()
    }

    fn parameter(&mut self, place: &str, name: &str, required: bool, schema: Value) {
        let parameter = json!({"name": name, "in": place, "required": required, "schema": schema});
        let all = self.object.entry("parameters").or_insert_with(|| json!([]));
        if let Some(all) = all.as_array_mut() {
            all.push(parameter);
        }
    }

    fn body(&mut self, kind: &str, schema: Value) {
        self.object.insert(
            "requestBody".to_owned(),
            json!({"required": true, "content": {kind: {"schema": schema}}}),
        );
    }
}

/// Schemas as OpenAPI 3.1 names them.
#[must_use]
pub fn schemas() -> SchemaGenerator {
    let mut settings = SchemaSettings::draft2020_12();
    settings.definitions_path = "/components/schemas".into();
    settings.meta_schema = None;
    SchemaGenerator::new(settings)
}

/// What a handler takes.
pub trait Takes {
    /// Describes it.
    fn takes(_: &mut Operation) {}
}

/// What a handler gives.
pub trait Gives {
    /// Describes it.
    fn gives(_: &mut Operation) {}
}

impl<S> Takes for State<S> {}
impl Takes for axum::http::HeaderMap {}

impl<T: JsonSchema> Takes for Body<T> {
    fn takes(operation: &mut Operation) {
        let schema = operation.schema::<T>();
        operation.body("application/json", schema);
    }
}

impl Takes for super::body::Json {
    fn takes(operation: &mut Operation) {
        operation.body("application/json", json!({"type": "object"}));
    }
}

impl Takes for super::body::Table {
    fn takes(operation: &mut Operation) {
        operation.body("text/csv", json!({"type": "string"}));
    }
}

impl Takes for axum::body::Body {
    fn takes(operation: &mut Operation) {
        operation.body("application/octet-stream", json!({}));
    }
}

impl<T: JsonSchema> Takes for Params<T> {
    fn takes(operation: &mut Operation) {
        // A query's fields are parameters of their own: the schema is taken apart, not named.
        let mut own = schemas();
        let schema = own.root_schema_for::<T>().to_value();
        let required: Vec<&str> = schema["required"]
            .as_array()
            .map(|names| names.iter().filter_map(Value::as_str).collect())
            .unwrap_or_default();
        for (name, field) in schema["properties"].as_object().into_iter().flatten() {
            let needed = required.contains(&name.as_str());
            operation.parameter("query", name, needed, field.clone());
        }
        let named = schema
            .pointer("/components/schemas")
            .and_then(Value::as_object);
        for (name, named) in named.into_iter().flatten() {
            if let Ok(schema) = schemars::Schema::try_from(named.clone()) {
                operation
                    .schemas
                    .definitions_mut()
                    .entry(name.clone())
                    .or_insert_with(|| schema.to_value());
            }
        }
    }
}

impl<T: PathParts> Takes for At<T> {
    fn takes(operation: &mut Operation) {
        let names = operation.names.clone();
        for (name, kind) in names.iter().zip(T::kinds()) {
            operation.parameter("path", name, true, json!({ "type": kind }));
        }
    }
}

/// The kinds of a path's variable parts.
pub trait PathParts {
    /// `integer` or `string`, in order.
    fn kinds() -> Vec<&'static str>;
}

impl PathParts for i64 {
    fn kinds() -> Vec<&'static str> {
        vec!["integer"]
    }
}

impl PathParts for String {
    fn kinds() -> Vec<&'static str> {
        vec!["string"]
    }
}

impl<A: PathParts, B: PathParts> PathParts for (A, B) {
    fn kinds() -> Vec<&'static str> {
        [A::kinds(), B::kinds()].concat()
    }
}

impl<T: JsonSchema> Gives for Json<T> {
    fn gives(operation: &mut Operation) {
        let schema = operation.schema::<T>();
        operation.answer("200", "done", Some(("application/json", schema)));
    }
}

impl<T: JsonSchema> Gives for Accepted<T> {
    fn gives(operation: &mut Operation) {
        let schema = operation.schema::<T>();
        operation.answer(
            "202",
            "a job was started",
            Some(("application/json", schema)),
        );
    }
}

impl<T: JsonSchema> Gives for Created<T> {
    fn gives(operation: &mut Operation) {
        let schema = operation.schema::<T>();
        operation.answer("201", "made", Some(("application/json", schema)));
    }
}

impl Gives for Nothing {
    fn gives(operation: &mut Operation) {
        operation.answer("204", "done", None);
    }
}

impl<K: Kind> Gives for File<K> {
    fn gives(operation: &mut Operation) {
        let kind = K::TYPE.split(';').next().unwrap_or(K::TYPE);
        operation.answer("200", "the file", Some((kind, json!({}))));
    }
}

impl Gives for Response {
    fn gives(operation: &mut Operation) {
        operation.answer("200", "done", None);
    }
}

impl<A: Gives> Gives for (axum::http::HeaderMap, A) {
    fn gives(operation: &mut Operation) {
        A::gives(operation);
    }
}

impl<A: Gives> Gives for Result<A, ApiError> {
    fn gives(operation: &mut Operation) {
        A::gives(operation);
        let schema = operation.schema::<Refusal>();
        operation.answer("default", "refused", Some(("application/json", schema)));
    }
}

/// A handler whose types can be read.
pub trait Described<T> {
    /// Describes what it takes and gives.
    fn describe(operation: &mut Operation);
}

macro_rules! described {
    ($($part:ident),*) => {
        impl<F, Future, Out, $($part,)*> Described<(Future, $($part,)*)> for F
        where
            F: Fn($($part,)*) -> Future,
            Future: std::future::Future<Output = Out>,
            Out: Gives,
            $($part: Takes,)*
        {
            fn describe(operation: &mut Operation) {
                $($part::takes(operation);)*
                Out::gives(operation);
            }
        }
    };
}

described!();
described!(A);
described!(A, B);
described!(A, B, C);
described!(A, B, C, D);
described!(A, B, C, D, E);
