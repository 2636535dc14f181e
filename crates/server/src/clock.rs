//! The one place that reads the clock.

use std::time::{SystemTime, UNIX_EPOCH};

/// Unix milliseconds now.
#[must_use]
pub fn now_ms() -> i64 {
    SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .map_or(0, |since| since.as_millis() as i64)
}

/// Today as documents write it, in the machine's zone.
#[must_use]
pub fn today() -> String {
    jiff::ZonedDateTime::now().date().to_string()
}

/// The day of a moment, in the machine's zone.
#[must_use]
pub fn day(at_ms: i64) -> Option<String> {
    let at = jiff::Timestamp::from_millisecond(at_ms).ok()?;
    Some(
        at.to_zoned_datetime(jiff::tz::TimeZone::system())
            .date()
            .to_string(),
    )
}
