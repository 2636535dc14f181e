//! The physical and published limits of an input, as data.

use serde::Serialize;
use serde_json::Value;

use crate::{MethodError, pointer};

/// The range of one input number. Errors, forms and documentation read this table.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Bound {
    /// Pointer to the value; `*` stands for every item of a list or key of a map.
    pub path: &'static str,
    /// The least value.
    pub least: f64,
    /// Whether `least` itself is allowed.
    pub least_allowed: bool,
    /// The greatest value, which is allowed.
    pub most: f64,
    /// What the number is, with its unit.
    pub words: &'static str,
}

impl Bound {
    /// A closed range.
    #[must_use]
    pub const fn within(path: &'static str, least: f64, most: f64, words: &'static str) -> Self {
        Self {
            path,
            least,
            least_allowed: true,
            most,
            words,
        }
    }

    /// A range that leaves out its lower end.
    #[must_use]
    pub const fn above(path: &'static str, least: f64, most: f64, words: &'static str) -> Self {
        Self {
            path,
            least,
            least_allowed: false,
            most,
            words,
        }
    }

    fn holds(&self, value: f64) -> bool {
        value <= self.most && (value > self.least || (self.least_allowed && value == self.least))
    }

    /// The range in words: `over 0 up to 40`.
    #[must_use]
    pub fn range(&self) -> String {
        if self.least_allowed {
            format!("{} to {}", self.least, self.most)
        } else {
            format!("over {} up to {}", self.least, self.most)
        }
    }
}

/// Holds every number of `input` against the bounds that name its place.
///
/// # Errors
/// The first number, in the order of the table, that lies outside.
pub fn check(input: &Value, bounds: &[Bound]) -> Result<(), MethodError> {
    for bound in bounds {
        let steps: Vec<&str> = bound.path.split('/').skip(1).collect();
        check_at(input, &steps, String::new(), bound)?;
    }
    Ok(())
}

fn check_at(value: &Value, steps: &[&str], at: String, bound: &Bound) -> Result<(), MethodError> {
    let Some((step, rest)) = steps.split_first() else {
        return match value.as_f64() {
            Some(number) if !bound.holds(number) => Err(MethodError::new(
                "out_of_range",
                at,
                format!("{} is {number}, outside {}", bound.words, bound.range()),
                "check the value and its unit; the unit is the last part of the key",
            )),
            _ => Ok(()),
        };
    };
    match (value, *step) {
        (Value::Array(items), "*") => items
            .iter()
            .enumerate()
            .try_for_each(|(i, item)| check_at(item, rest, format!("{at}/{i}"), bound)),
        (Value::Object(map), "*") => map.iter().try_for_each(|(key, item)| {
            check_at(item, rest, format!("{at}/{}", pointer::escape(key)), bound)
        }),
        (Value::Array(items), index) => {
            match index.parse::<usize>().ok().and_then(|i| items.get(i)) {
                Some(item) => check_at(item, rest, format!("{at}/{index}"), bound),
                None => Ok(()),
            }
        }
        (Value::Object(map), key) => match map.get(key) {
            Some(item) => check_at(item, rest, format!("{at}/{key}"), bound),
            None => Ok(()),
        },
        _ => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    const TABLE: &[Bound] = &[Bound::above("/pieces/*/mass_kg", 0.0, 10.0, "mass, kg")];

    #[test]
    fn a_number_in_a_list_is_found_and_named() {
        let error = check(
            &json!({"pieces": [{"mass_kg": 1.0}, {"mass_kg": 0.0}]}),
            TABLE,
        )
        .expect_err("zero lies outside");
        assert_eq!(error.path, "/pieces/1/mass_kg");
    }

    #[test]
    fn an_absent_number_is_no_fault() {
        assert!(check(&json!({"pieces": [{}]}), TABLE).is_ok());
    }
}
