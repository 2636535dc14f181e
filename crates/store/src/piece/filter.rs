//! Which pieces a list shows and in which order, as SQL with its arguments.

use sqlx::{Any, any::AnyArguments, query::Query};
use workshop::PieceKind;

use super::{MassCertainty, PieceState};

/// What a list is narrowed to; an empty field narrows nothing.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PieceFilter {
    /// Stone or wood.
    pub kind: Option<PieceKind>,
    /// Any of these materials.
    pub materials: Vec<String>,
    /// Any of these states.
    pub states: Vec<PieceState>,
    /// Any of these places.
    pub places: Vec<String>,
    /// Any of these grades.
    pub grades: Vec<String>,
    /// Words that all occur in tag, material, place or notes.
    pub text: String,
    /// Longest side at least, mm.
    pub long_min_mm: Option<f64>,
    /// Longest side at most, mm.
    pub long_max_mm: Option<f64>,
    /// Mass at least, kg.
    pub mass_min_kg: Option<f64>,
    /// Mass at most, kg.
    pub mass_max_kg: Option<f64>,
    /// How the mass is known.
    pub mass_certainty: Option<MassCertainty>,
    /// Held until this time or earlier, Unix milliseconds.
    pub held_until_ms: Option<i64>,
    /// Price at least, minor units.
    pub price_min_minor: Option<i64>,
    /// Price at most, minor units.
    pub price_max_minor: Option<i64>,
}

/// What a list is sorted by; the number of the tag decides between equals.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum PieceSort {
    /// Stone before wood, by number.
    #[default]
    Tag,
    /// Longest side.
    Long,
    /// Mass.
    Mass,
    /// Price; pieces without one come last.
    Price,
    /// When it was taken in.
    Received,
}

impl PieceSort {
    pub(super) fn order(self, descending: bool) -> String {
        let way = if descending { "DESC" } else { "ASC" };
        let by = match self {
            Self::Tag => return format!("p.kind {way}, p.number {way}"),
            Self::Long => "p.long_mm",
            Self::Mass => "p.mass_kg",
            // The databases put absent values at different ends.
            Self::Price => {
                return format!("(p.price_minor IS NULL), p.price_minor {way}, p.kind, p.number");
            }
            Self::Received => "p.received_at_ms",
        };
        format!("{by} {way}, p.kind {way}, p.number {way}")
    }
}

/// The field that a facet counts, which its own choice doesn't narrow.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Field {
    Material,
    State,
    Place,
    Grade,
}

/// An argument of a condition.
#[derive(Debug, Clone)]
enum Argument {
    Text(String),
    Real(f64),
    Whole(i64),
}

/// Conditions joined by AND, with their arguments in order.
#[derive(Debug, Default)]
pub(super) struct Conditions {
    sql: Vec<String>,
    arguments: Vec<Argument>,
}

impl Conditions {
    pub(super) fn of(filter: &PieceFilter, without: Option<Field>) -> Self {
        let mut all = Self::default();
        if let Some(kind) = filter.kind {
            all.one("p.kind = ?", Argument::Text(kind.word().to_owned()));
        }
        let states: Vec<String> = filter.states.iter().map(|s| s.word().to_owned()).collect();
        for (field, column, values) in [
            (Field::Material, "p.material", &filter.materials),
            (Field::State, "p.state", &states),
            (Field::Place, "p.place", &filter.places),
            (Field::Grade, "p.grade", &filter.grades),
        ] {
            if without != Some(field) {
                all.any_of(column, values);
            }
        }
        for word in filter.text.split_whitespace() {
            let pattern = format!("%{}%", escaped(&word.to_lowercase()));
            all.one("p.search LIKE ? ESCAPE '!'", Argument::Text(pattern));
        }
        for (sql, bound) in [
            ("p.long_mm >= ?", filter.long_min_mm),
            ("p.long_mm <= ?", filter.long_max_mm),
            ("p.mass_kg >= ?", filter.mass_min_kg),
            ("p.mass_kg <= ?", filter.mass_max_kg),
        ] {
            if let Some(bound) = bound {
                all.one(sql, Argument::Real(bound));
            }
        }
        if let Some(certainty) = filter.mass_certainty {
            let word = certainty.word().to_owned();
            all.one("p.mass_certainty = ?", Argument::Text(word));
        }
        for (sql, bound) in [
            ("p.hold_until_ms <= ?", filter.held_until_ms),
            ("p.price_minor >= ?", filter.price_min_minor),
            ("p.price_minor <= ?", filter.price_max_minor),
        ] {
            if let Some(bound) = bound {
                all.one(sql, Argument::Whole(bound));
            }
        }
        all
    }

    /// `WHERE …`, or nothing.
    pub(super) fn sql(&self) -> String {
        match self.sql.is_empty() {
            true => String::new(),
            false => format!("WHERE {}", self.sql.join(" AND ")),
        }
    }

    pub(super) fn n_arguments(&self) -> usize {
        self.arguments.len()
    }

    pub(super) fn bind<'q>(
        &self,
        query: Query<'q, Any, AnyArguments>,
    ) -> Query<'q, Any, AnyArguments> {
        self.arguments
            .iter()
            .fold(query, |query, argument| match argument {
                Argument::Text(text) => query.bind(text.clone()),
                Argument::Real(value) => query.bind(*value),
                Argument::Whole(value) => query.bind(*value),
            })
    }

    fn one(&mut self, sql: &str, argument: Argument) {
        self.arguments.push(argument);
        let place = format!("${}", self.arguments.len());
        self.sql.push(sql.replace('?', &place));
    }

    fn any_of(&mut self, column: &str, values: &[String]) {
        if values.is_empty() {
            return;
        }
        let places: Vec<String> = values
            .iter()
            .map(|value| {
                self.arguments.push(Argument::Text(value.clone()));
                format!("${}", self.arguments.len())
            })
            .collect();
        self.sql
            .push(format!("{column} IN ({})", places.join(", ")));
    }
}

/// A word whose own `%` and `_` mean themselves in a pattern.
fn escaped(word: &str) -> String {
    word.chars()
        .flat_map(|c| match c {
            '%' | '_' | '!' => vec!['!', c],
            c => vec![c],
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn arguments_are_numbered_in_the_order_they_are_bound() {
        let filter = PieceFilter {
            kind: Some(PieceKind::Stone),
            materials: vec!["a".to_owned(), "b".to_owned()],
            text: "50%".to_owned(),
            long_max_mm: Some(300.0),
            ..PieceFilter::default()
        };
        let conditions = Conditions::of(&filter, None);
        assert_eq!(
            conditions.sql(),
            "WHERE p.kind = $1 AND p.material IN ($2, $3) AND p.search LIKE $4 ESCAPE '!' \
             AND p.long_mm <= $5"
        );
        assert_eq!(conditions.n_arguments(), 5);
        assert!(matches!(&conditions.arguments[3], Argument::Text(t) if t == "%50!%%"));
    }

    #[test]
    fn a_facet_is_not_narrowed_by_its_own_choice() {
        let filter = PieceFilter {
            materials: vec!["a".to_owned()],
            places: vec!["b".to_owned()],
            ..PieceFilter::default()
        };
        let sql = Conditions::of(&filter, Some(Field::Material)).sql();
        assert_eq!(sql, "WHERE p.place IN ($1)");
    }
}
