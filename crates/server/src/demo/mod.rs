//! The demo: an invented workshop, made in a data folder of its own.

pub mod business;
pub mod grow;
pub mod layouts;

use serde_json::json;
use store::{By, Store, StoreError};

use crate::{
    App,
    clock::now_ms,
    jobs::desk,
    people::routes::{SHOP, Shop},
    yard::file::YardFile,
};

/// The setting that says what is made; its value is how far the making is.
const MADE: &str = "demo";
/// Who made it all.
pub const SELF: &str = "demo";
/// The shelf, as text.
const YARD: &str = include_str!("../../../../demo/yard.toml");

/// Why a demo can't be made.
#[derive(Debug, thiserror::Error)]
pub enum DemoError {
    /// The folder holds somebody's workshop.
    #[error("the data folder holds a workshop that is no demo; name another with --data")]
    Occupied,
    /// A demo file of this build is at fault.
    #[error("a demo file of this program is at fault: {0}")]
    File(#[from] toml::de::Error),
    /// The store fails.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// Whether a data folder was made as a demo.
///
/// # Errors
/// When the store fails.
pub async fn is_one(store: &Store) -> Result<bool, StoreError> {
    Ok(store.setting(MADE).await?.is_some())
}

/// Marks an empty data folder as a demo's.
///
/// # Errors
/// When something is in it that is no demo's, or the store fails.
pub async fn begin(store: &Store) -> Result<(), DemoError> {
    if is_one(store).await? {
        return Ok(());
    }
    if store.last_event().await? > 0 {
        return Err(DemoError::Occupied);
    }
    store.set(&by(), MADE, Some(0), json!("begun")).await?;
    Ok(())
}

/// Who makes the demo, now.
#[must_use]
pub fn by() -> By {
    By::new(SELF, now_ms())
}

/// The shelf.
///
/// # Errors
/// When the file of this build is at fault.
pub fn shelf() -> Result<YardFile, DemoError> {
    Ok(toml::from_str(YARD)?)
}

/// Makes what is still missing: the shop at once, the pieces by jobs.
///
/// # Errors
/// When a file of this build is at fault or the store fails.
pub async fn make(app: &App) -> Result<(), DemoError> {
    let made = app.store.setting(MADE).await?;
    if made.is_none_or(|setting| setting.value != json!("begun")) {
        return Ok(());
    }
    let shelf = shelf()?;
    let shop = Shop {
        name: shelf.shop.clone().unwrap_or_default(),
        currency: shelf.currency.clone().unwrap_or_default(),
    };
    app.store.set(&by(), SHOP, None, json!(shop)).await?;
    business::make(app).await?;
    for tag in layouts::order(&shelf)? {
        let input = json!(grow::Input { tag: tag.clone() });
        desk::put_in(app, &by(), grow::JOB, &tag, input).await?;
    }
    // Last: a start that was cut off begins again, and each part knows what is there.
    app.store.set(&by(), MADE, None, json!("made")).await?;
    Ok(())
}
