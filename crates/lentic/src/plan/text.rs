//! TOML that a person wrote, as a value whose every place knows its line.

use std::{collections::BTreeMap, ops::Range};

use method::{Bound, MethodError, bound, length, pointer};
use serde::de::DeserializeOwned;
use serde_json::{Map, Number, Value};
use toml::{
    Spanned,
    de::{DeTable, DeValue},
};

/// Keys that may be written without their unit when the value is a text with one:
/// `glass = "3/8 in"` stands for `glass_mm = 9.525`.
const LENGTH_KEYS: &[&str] = &[
    "outside",
    "glass",
    "base",
    "water_line",
    "at",
    "bury",
    "lift",
    "grain",
];

/// Why a file of a person's was refused, and where.
#[derive(Debug, Clone, PartialEq)]
pub struct Refusal {
    /// The file's name as the person gave it.
    pub file: String,
    /// The line, from 1, where one can be named.
    pub line: Option<usize>,
    /// Code, pointer, message and hint.
    pub error: Box<MethodError>,
}

impl std::fmt::Display for Refusal {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let line = self.line.map(|line| format!(":{line}")).unwrap_or_default();
        write!(f, "{}{line}: {}", self.file, self.error.message)?;
        if !self.error.path.is_empty() {
            write!(f, "\n  at   {}", self.error.path)?;
        }
        write!(f, "\n  hint {}", self.error.hint)
    }
}

/// A parsed file: its value, and the line of every place in it.
pub struct Text {
    name: String,
    value: Value,
    lines: BTreeMap<String, usize>,
}

impl Text {
    /// Parses TOML; `name` is what errors call the file.
    ///
    /// # Errors
    /// At the line of the first fault.
    pub fn parse(name: &str, text: &str) -> Result<Self, Refusal> {
        let refuse =
            |span: Option<Range<usize>>, path: String, message: String, hint: &str| Refusal {
                file: name.to_owned(),
                line: span.map(|span| line_of(text, span.start)),
                error: Box::new(MethodError::new("not_toml", path, message, hint)),
            };
        let table = DeTable::parse(text).map_err(|error| {
            refuse(
                error.span(),
                String::new(),
                error.message().to_owned(),
                "texts stand in quotes, lists in [ ], each table under its own [heading]",
            )
        })?;
        let mut lines = BTreeMap::new();
        let value = object(table.get_ref(), "", text, &mut lines).map_err(|(span, path, message)| {
            refuse(
                Some(span),
                path,
                message,
                "write `glass_mm = 10` for millimetres or `glass = \"10 mm\"` for a text with its unit",
            )
        })?;
        Ok(Self {
            name: name.to_owned(),
            value,
            lines,
        })
    }

    /// The typed file, with every number held against `bounds`.
    ///
    /// # Errors
    /// At the line of the offending value.
    pub fn typed<T: DeserializeOwned>(&self, bounds: &[Bound]) -> Result<T, Refusal> {
        let typed = method::registry::typed(&self.value).map_err(|error| self.refusal(error))?;
        bound::check(&self.value, bounds).map_err(|error| self.refusal(error))?;
        Ok(typed)
    }

    /// Puts the line to an error whose path points into this file.
    #[must_use]
    pub fn refusal(&self, error: MethodError) -> Refusal {
        Refusal {
            file: self.name.clone(),
            line: self.line(&error.path),
            error: Box::new(error),
        }
    }

    /// What errors call the file.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The line of a place, or of the nearest place around it.
    #[must_use]
    pub fn line(&self, path: &str) -> Option<usize> {
        let mut path = path;
        loop {
            if let Some(line) = self.lines.get(path) {
                return Some(*line);
            }
            path = &path[..path.rfind('/')?];
        }
    }
}

fn line_of(text: &str, byte: usize) -> usize {
    1 + text.as_bytes()[..byte.min(text.len())]
        .iter()
        .filter(|b| **b == b'\n')
        .count()
}

type Fault = (Range<usize>, String, String);

fn object(
    table: &DeTable<'_>,
    at: &str,
    text: &str,
    lines: &mut BTreeMap<String, usize>,
) -> Result<Value, Fault> {
    let mut map = Map::new();
    for (key, value) in table {
        let name = key.get_ref().as_ref();
        let is_length = LENGTH_KEYS.contains(&name);
        let name = if is_length {
            format!("{name}_mm")
        } else {
            name.to_owned()
        };
        let path = format!("{at}/{}", pointer::escape(&name));
        lines.insert(path.clone(), line_of(text, key.span().start));
        let json = if is_length {
            lengths_mm(value, &path)?
        } else {
            json(value, &path, text, lines)?
        };
        if map.insert(name, json).is_some() {
            return Err((key.span(), path.clone(), format!("{path} is given twice")));
        }
    }
    Ok(Value::Object(map))
}

fn json(
    value: &Spanned<DeValue<'_>>,
    at: &str,
    text: &str,
    lines: &mut BTreeMap<String, usize>,
) -> Result<Value, Fault> {
    let number = |parsed: Option<f64>, written: &str| {
        parsed
            .and_then(Number::from_f64)
            .map(Value::Number)
            .ok_or_else(|| {
                (
                    value.span(),
                    at.to_owned(),
                    format!("{written} is no finite number"),
                )
            })
    };
    match value.get_ref() {
        DeValue::String(s) => Ok(Value::String(s.to_string())),
        DeValue::Boolean(b) => Ok(Value::Bool(*b)),
        DeValue::Integer(i) => match i64::from_str_radix(i.as_str(), i.radix()) {
            Ok(whole) => Ok(Value::from(whole)),
            Err(_) => number(None, i.as_str()),
        },
        DeValue::Float(f) => number(f.as_str().parse().ok(), f.as_str()),
        DeValue::Datetime(d) => Ok(Value::String(d.to_string())),
        DeValue::Array(items) => items
            .iter()
            .enumerate()
            .map(|(i, item)| {
                let path = format!("{at}/{i}");
                lines.insert(path.clone(), line_of(text, item.span().start));
                json(item, &path, text, lines)
            })
            .collect::<Result<Vec<_>, _>>()
            .map(Value::Array),
        DeValue::Table(table) => object(table, at, text, lines),
    }
}

fn lengths_mm(value: &Spanned<DeValue<'_>>, at: &str) -> Result<Value, Fault> {
    match value.get_ref() {
        DeValue::String(s) => length::parse(s)
            .map(|metres| Value::from(metres * 1000.0))
            .map_err(|reason| (value.span(), at.to_owned(), reason)),
        DeValue::Array(items) => items
            .iter()
            .map(|item| lengths_mm(item, at))
            .collect::<Result<Vec<_>, _>>()
            .map(Value::Array),
        _ => Err((
            value.span(),
            at.to_owned(),
            "a length without its unit".to_owned(),
        )),
    }
}

#[cfg(test)]
mod tests {
    use serde::Deserialize;

    use super::*;

    #[derive(Debug, Deserialize)]
    #[serde(deny_unknown_fields)]
    struct Pane {
        glass_mm: f64,
    }

    const BOUNDS: &[Bound] = &[Bound::above("/glass_mm", 0.0, 40.0, "glass, mm")];

    fn refusal(text: &str) -> (Option<usize>, String) {
        let refusal = Text::parse("t.toml", text)
            .and_then(|text| text.typed::<Pane>(BOUNDS))
            .expect_err("refused");
        (refusal.line, refusal.error.path)
    }

    #[test]
    fn a_length_may_carry_its_unit() {
        let text = Text::parse("t.toml", "glass = \"3/8 in\"").expect("is TOML");
        let pane: Pane = text.typed(BOUNDS).expect("is a pane");
        assert!((pane.glass_mm - 9.525).abs() < 1e-9);
    }

    #[test]
    fn faults_name_their_line() {
        assert_eq!(refusal("\nglass = 10"), (Some(2), "/glass_mm".to_owned()));
        assert_eq!(
            refusal("\n\nglass_mm = 0"),
            (Some(3), "/glass_mm".to_owned())
        );
        assert_eq!(
            refusal("glass_mm = 1\nglas = 2"),
            (Some(2), "/glas".to_owned())
        );
        assert_eq!(refusal("glass_mm = nan"), (Some(1), "/glass_mm".to_owned()));
        assert_eq!(refusal("glass_mm = 1\n[broken").0, Some(2));
        assert_eq!(
            refusal("glass_mm = 1\nglass = \"1 mm\"").1,
            "/glass_mm".to_owned()
        );
    }
}
