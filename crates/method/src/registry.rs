//! What a method is, and the list of them.

use schemars::{JsonSchema, Schema, schema_for};
use serde::{Serialize, de::DeserializeOwned};
use serde_json::Value;

use crate::{Bound, CaseFile, Files, MethodError, bound, pointer};

/// One relation that a method computes by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Equation {
    /// What it gives.
    pub quantity: &'static str,
    /// The relation, in symbols or words.
    pub relation: &'static str,
    /// Author, title, year and place, or `common practice, no source`.
    pub source: &'static str,
}

/// One computation of the trade.
pub trait Method: Send + Sync + 'static {
    /// The input as a user writes it: keys with units, unknown keys refused.
    type Input: DeserializeOwned + JsonSchema;
    /// The output as a user reads it, with `cautions` and `basis`.
    type Output: Serialize + JsonSchema;

    /// The name, such as `solid.measure`.
    const NAME: &'static str;
    /// What it is for, in a line.
    const PURPOSE: &'static str;
    /// Ranges of the input's numbers.
    const BOUNDS: &'static [Bound];
    /// The relations it computes by.
    const EQUATIONS: &'static [Equation];
    /// Where it holds and where it does not, a sentence each.
    const LIMITS: &'static [&'static str];
    /// The case files that its tests run, as text.
    const CASES: &'static [&'static str];
    /// The case files that `reference/` makes and runs beside an independent library, as text.
    const TABLES: &'static [&'static str] = &[];

    /// Computes.
    ///
    /// # Errors
    /// When the input can't be answered; the error points at the value.
    fn run(input: Self::Input, files: &dyn Files) -> Result<Self::Output, MethodError>;
}

type RunJson = fn(&Value, &dyn Files) -> Result<Value, MethodError>;

/// A method in a registry, its types erased.
#[derive(Clone, Copy)]
pub struct Registered {
    /// The name, such as `solid.measure`.
    pub name: &'static str,
    /// What it is for, in a line.
    pub purpose: &'static str,
    /// Ranges of the input's numbers.
    pub bounds: &'static [Bound],
    /// The relations it computes by.
    pub equations: &'static [Equation],
    /// Where it holds and where it does not.
    pub limits: &'static [&'static str],
    cases: &'static [&'static str],
    tables: &'static [&'static str],
    input_schema: fn() -> Schema,
    output_schema: fn() -> Schema,
    run: RunJson,
}

impl Registered {
    fn of<M: Method>() -> Self {
        Self {
            name: M::NAME,
            purpose: M::PURPOSE,
            bounds: M::BOUNDS,
            equations: M::EQUATIONS,
            limits: M::LIMITS,
            cases: M::CASES,
            tables: M::TABLES,
            input_schema: || schema_for!(M::Input),
            output_schema: || schema_for!(M::Output),
            run: run_json::<M>,
        }
    }

    /// JSON Schema of the input.
    #[must_use]
    pub fn input_schema(&self) -> Value {
        (self.input_schema)().to_value()
    }

    /// JSON Schema of the output.
    #[must_use]
    pub fn output_schema(&self) -> Value {
        (self.output_schema)().to_value()
    }

    /// The checks that the tests run.
    ///
    /// # Errors
    /// When a case file that was built in is not of the form.
    pub fn case_files(&self) -> Result<Vec<CaseFile>, String> {
        self.cases
            .iter()
            .map(|text| CaseFile::parse(text))
            .collect()
    }

    /// The checks that `reference/` runs beside an independent library.
    ///
    /// # Errors
    /// When a table that was built in is not of the form.
    pub fn reference_tables(&self) -> Result<Vec<CaseFile>, String> {
        self.tables
            .iter()
            .map(|text| CaseFile::parse(text))
            .collect()
    }

    /// Runs on the text of a JSON value.
    ///
    /// # Errors
    /// When the text is not JSON, or as [`Registered::run_json`].
    pub fn run_text(&self, text: &[u8], files: &dyn Files) -> Result<Value, MethodError> {
        let input = serde_json::from_slice(text).map_err(|error| {
            MethodError::new(
                "not_json",
                "",
                format!("the input is not JSON: {error}"),
                "write one JSON object; numbers are plain and finite",
            )
        })?;
        self.run_json(&input, files)
    }

    /// Runs on a JSON value.
    ///
    /// # Errors
    /// When a key is unknown or missing, a number is out of its bounds, or the
    /// method refuses.
    pub fn run_json(&self, input: &Value, files: &dyn Files) -> Result<Value, MethodError> {
        (self.run)(input, files)
    }
}

/// Reads a typed value; the error points at the place that is wrong.
///
/// # Errors
/// When a key is unknown or missing, or a value is of the wrong kind.
pub fn typed<T: DeserializeOwned>(value: &Value) -> Result<T, MethodError> {
    serde_path_to_error::deserialize(value).map_err(|error| {
        let path = pointer::from_path(error.path());
        let message = error.into_inner().to_string();
        let (code, hint) = if message.starts_with("unknown field") {
            ("unknown_key", "remove the key or correct its spelling")
        } else if message.starts_with("missing field") {
            (
                "missing_key",
                "add the key; the input's schema lists the keys",
            )
        } else {
            (
                "wrong_type",
                "write the kind of value that the input's schema names",
            )
        };
        MethodError::new(code, path, message, hint)
    })
}

fn run_json<M: Method>(input: &Value, files: &dyn Files) -> Result<Value, MethodError> {
    let typed: M::Input = typed(input)?;
    bound::check(input, M::BOUNDS)?;
    let output = M::run(typed, files)?;
    let value = serde_json::to_value(&output).map_err(|error| {
        MethodError::new(
            "unwritable",
            "",
            format!("the result can't be written as JSON: {error}"),
            "report this input; it is a defect of the method",
        )
    })?;
    match null_number(&value, &schema_for!(M::Output).to_value()) {
        None => Ok(value),
        Some(path) => Err(MethodError::new(
            "not_finite",
            "",
            format!("the result at {path} is not a finite number"),
            "the input lies outside what the method can answer; report it if it seems ordinary",
        )),
    }
}

/// A required plain number that came out null, as JSON writes NaN and infinity.
fn null_number(value: &Value, schema: &Value) -> Option<String> {
    let properties = schema.get("properties")?.as_object()?;
    properties.iter().find_map(|(key, property)| {
        let plain = property.get("type").and_then(Value::as_str) == Some("number");
        (plain && value.get(key).is_some_and(Value::is_null)).then(|| format!("/{key}"))
    })
}

/// All methods of a program, in the order in which they were added.
#[derive(Clone, Default)]
pub struct Registry {
    methods: Vec<Registered>,
}

impl Registry {
    /// Adds a method.
    #[must_use]
    pub fn with<M: Method>(mut self) -> Self {
        self.methods.push(Registered::of::<M>());
        self
    }

    /// The method of this name.
    #[must_use]
    pub fn get(&self, name: &str) -> Option<&Registered> {
        self.methods.iter().find(|method| method.name == name)
    }

    /// All methods in order.
    pub fn iter(&self) -> impl Iterator<Item = &Registered> {
        self.methods.iter()
    }
}

#[cfg(test)]
mod tests {
    use serde::Deserialize;
    use serde_json::json;

    use super::*;
    use crate::files::NoFiles;

    #[derive(Deserialize, JsonSchema)]
    #[serde(deny_unknown_fields)]
    struct Halve {
        inner: Inner,
    }

    #[derive(Deserialize, JsonSchema)]
    #[serde(deny_unknown_fields)]
    struct Inner {
        span_mm: f64,
    }

    #[derive(Serialize, JsonSchema)]
    struct Half {
        half_mm: f64,
    }

    struct Halving;

    impl Method for Halving {
        type Input = Halve;
        type Output = Half;
        const NAME: &'static str = "test.halve";
        const PURPOSE: &'static str = "halves a span";
        const BOUNDS: &'static [Bound] = &[Bound::above("/inner/span_mm", 0.0, 10.0, "span, mm")];
        const EQUATIONS: &'static [Equation] = &[];
        const LIMITS: &'static [&'static str] = &[];
        const CASES: &'static [&'static str] = &[];

        fn run(input: Halve, _: &dyn Files) -> Result<Half, MethodError> {
            Ok(Half {
                half_mm: if input.inner.span_mm == 7.0 {
                    f64::NAN
                } else {
                    input.inner.span_mm / 2.0
                },
            })
        }
    }

    fn refusal(input: &Value) -> (String, String) {
        let error = Registry::default()
            .with::<Halving>()
            .get("test.halve")
            .expect("registered above")
            .run_json(input, &NoFiles)
            .expect_err("refused");
        (error.code, error.path)
    }

    #[test]
    fn an_unknown_key_is_pointed_at() {
        assert_eq!(
            refusal(&json!({"inner": {"span_mm": 1, "spam_mm": 2}})),
            ("unknown_key".to_owned(), "/inner/spam_mm".to_owned())
        );
    }

    #[test]
    fn a_text_for_a_number_is_pointed_at() {
        assert_eq!(
            refusal(&json!({"inner": {"span_mm": "1"}})),
            ("wrong_type".to_owned(), "/inner/span_mm".to_owned())
        );
    }

    #[test]
    fn a_number_out_of_range_is_pointed_at() {
        assert_eq!(
            refusal(&json!({"inner": {"span_mm": 0}})),
            ("out_of_range".to_owned(), "/inner/span_mm".to_owned())
        );
    }

    #[test]
    fn a_result_that_is_not_finite_is_no_result() {
        assert_eq!(
            refusal(&json!({"inner": {"span_mm": 7}})).0,
            "not_finite".to_owned()
        );
    }
}
