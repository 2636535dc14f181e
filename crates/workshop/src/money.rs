//! What things cost, to the last minor unit.

use std::fmt;

use serde::{Serialize, Serializer, ser::SerializeStruct};

use crate::WorkshopError;

/// A currency by its three letters of ISO 4217.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Currency([u8; 3]);

/// Currencies of ISO 4217 whose minor unit is the whole unit (from memory, 2024 edition).
const NO_MINOR: &[&str] = &[
    "BIF", "CLP", "DJF", "GNF", "ISK", "JPY", "KMF", "KRW", "PYG", "RWF", "UGX", "VND", "VUV",
    "XAF", "XOF", "XPF",
];
/// Currencies of ISO 4217 whose minor unit is a thousandth (from memory, 2024 edition).
const THREE_DIGITS: &[&str] = &["BHD", "IQD", "JOD", "KWD", "LYD", "OMR", "TND"];

impl Currency {
    /// The currency of these three capital letters.
    ///
    /// # Errors
    /// When the code is anything but three capital letters.
    pub fn new(code: &str) -> Result<Self, WorkshopError> {
        match code.as_bytes() {
            [a, b, c] if code.bytes().all(|l| l.is_ascii_uppercase()) => Ok(Self([*a, *b, *c])),
            _ => Err(WorkshopError::Money {
                reason: format!(
                    "{:?} is no currency",
                    code.chars().take(20).collect::<String>()
                ),
            }),
        }
    }

    /// The three letters.
    #[must_use]
    pub fn code(&self) -> &str {
        std::str::from_utf8(&self.0).unwrap_or("XXX")
    }

    /// Decimal digits of the minor unit: 2 for a cent.
    ///
    /// # Source
    /// ISO 4217, column "minor unit"; the exceptions typed from memory.
    #[must_use]
    pub fn minor_digits(&self) -> u32 {
        match self.code() {
            code if NO_MINOR.contains(&code) => 0,
            code if THREE_DIGITS.contains(&code) => 3,
            _ => 2,
        }
    }
}

impl fmt::Display for Currency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.code())
    }
}

/// A sum of money in whole minor units of its currency.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Money {
    /// Minor units (cents), which may be negative.
    pub minor: i64,
    /// The currency.
    pub currency: Currency,
}

impl Money {
    /// A sum in minor units.
    #[must_use]
    pub fn new(minor: i64, currency: Currency) -> Self {
        Self { minor, currency }
    }

    /// A sum from an amount in whole units, such as 34.5.
    ///
    /// # Errors
    /// When the amount is not finite, too large, or no whole number of minor units.
    pub fn from_amount(amount: f64, currency: Currency) -> Result<Self, WorkshopError> {
        let scaled = amount * 10f64.powi(currency.minor_digits() as i32);
        let whole = scaled.round();
        if !scaled.is_finite() || whole.abs() >= 1e15 {
            return Err(WorkshopError::Money {
                reason: format!("{amount} is no sum of {currency}"),
            });
        }
        // An amount in decimal digits is off by less than one part in 2^50.
        if (scaled - whole).abs() > 1e-6f64.max(whole.abs() * 1e-14) {
            return Err(WorkshopError::Money {
                reason: format!("{amount} is no whole number of the minor unit of {currency}"),
            });
        }
        Ok(Self::new(whole as i64, currency))
    }

    /// The amount in whole units, for a figure on the screen.
    #[must_use]
    pub fn amount(&self) -> f64 {
        self.minor as f64 / 10f64.powi(self.currency.minor_digits() as i32)
    }

    /// The sum of two.
    ///
    /// # Errors
    /// When the currencies differ or the sum is too large.
    pub fn plus(self, other: Self) -> Result<Self, WorkshopError> {
        if self.currency != other.currency {
            return Err(WorkshopError::Currencies {
                one: self.currency.to_string(),
                other: other.currency.to_string(),
            });
        }
        let minor = self.minor.checked_add(other.minor);
        minor
            .map(|minor| Self::new(minor, self.currency))
            .ok_or_else(too_large)
    }

    /// `count` times the sum.
    ///
    /// # Errors
    /// When it is too large.
    pub fn times(self, count: u64) -> Result<Self, WorkshopError> {
        i64::try_from(count)
            .ok()
            .and_then(|count| self.minor.checked_mul(count))
            .map(|minor| Self::new(minor, self.currency))
            .ok_or_else(too_large)
    }
}

fn too_large() -> WorkshopError {
    WorkshopError::Money {
        reason: "the sum is too large".to_owned(),
    }
}

impl fmt::Display for Money {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let digits = self.currency.minor_digits();
        let unit = 10u64.pow(digits);
        let sign = if self.minor < 0 { "-" } else { "" };
        let (whole, rest) = (
            self.minor.unsigned_abs() / unit,
            self.minor.unsigned_abs() % unit,
        );
        if digits == 0 {
            write!(f, "{sign}{whole} {}", self.currency)
        } else {
            let width = digits as usize;
            write!(f, "{sign}{whole}.{rest:0width$} {}", self.currency)
        }
    }
}

impl Serialize for Money {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let mut fields = serializer.serialize_struct("Money", 2)?;
        fields.serialize_field("minor", &self.minor)?;
        fields.serialize_field("currency", self.currency.code())?;
        fields.end()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn money(amount: f64, code: &str) -> Result<Money, WorkshopError> {
        Money::from_amount(amount, Currency::new(code)?)
    }

    #[test]
    fn amounts_are_kept_to_the_minor_unit() {
        for (amount, code, text) in [
            (34.5, "EUR", "34.50 EUR"),
            (0.07, "EUR", "0.07 EUR"),
            (1200.0, "JPY", "1200 JPY"),
            (1.234, "KWD", "1.234 KWD"),
            (-0.05, "EUR", "-0.05 EUR"),
        ] {
            let money = money(amount, code).expect("a good sum");
            assert_eq!(money.to_string(), text);
            assert_eq!(money.amount(), amount);
        }
    }

    #[test]
    fn parts_of_a_minor_unit_are_refused() {
        for (amount, code) in [
            (0.005, "EUR"),
            (0.5, "JPY"),
            (f64::NAN, "EUR"),
            (1e20, "EUR"),
            (1.0, "eur"),
        ] {
            assert!(money(amount, code).is_err(), "{amount} {code} was taken");
        }
    }

    #[test]
    fn two_currencies_make_no_sum() {
        let sum = money(1.0, "EUR").and_then(|eur| eur.plus(money(1.0, "USD")?));
        assert!(matches!(sum, Err(WorkshopError::Currencies { .. })));
    }

    #[test]
    fn a_sum_too_large_is_refused_and_never_wraps() {
        let most = Money::new(i64::MAX, Currency::new("EUR").expect("a currency"));
        assert!(most.plus(most).is_err());
        assert!(most.times(2).is_err());
    }
}
