//! Money in two columns: whole minor units and a currency.

use sqlx::{Row, any::AnyRow};
use workshop::{Currency, Money};

use crate::StoreError;

/// The money of `price_minor` and `price_currency`.
pub(crate) fn of_row(row: &AnyRow) -> Result<Option<Money>, StoreError> {
    let minor: Option<i64> = row.try_get("price_minor")?;
    let currency: Option<String> = row.try_get("price_currency")?;
    match (minor, currency) {
        (Some(minor), Some(code)) => Ok(Some(Money::new(minor, Currency::new(&code)?))),
        _ => Ok(None),
    }
}

/// The two columns.
pub(crate) fn columns(price: Option<Money>) -> (Option<i64>, Option<String>) {
    (
        price.map(|p| p.minor),
        price.map(|p| p.currency.code().to_owned()),
    )
}
