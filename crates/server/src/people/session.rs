//! Sessions: a random token in a cookie; the store keeps its hash only.

use axum::http::{HeaderMap, HeaderValue, header};
use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};

use crate::http::ApiError;

/// The cookie's name.
pub const COOKIE: &str = "lentic_session";
/// How long a session lasts.
pub const LASTS_MS: i64 = 30 * 24 * 3600 * 1000;

/// A token of 256 random bits.
///
/// # Errors
/// When the machine gives no randomness.
pub fn token() -> Result<String, ApiError> {
    let mut bytes = [0u8; 32];
    getrandom::fill(&mut bytes).map_err(|error| ApiError::internal(&error))?;
    Ok(URL_SAFE_NO_PAD.encode(bytes))
}

/// The token of a request's cookie.
#[must_use]
pub fn of(headers: &HeaderMap) -> Option<String> {
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find(|(name, _)| *name == COOKIE)
        .map(|(_, token)| token.to_owned())
}

/// The header that sets the cookie, or clears it.
///
/// # Errors
/// Never for a token of [`token`].
pub fn set(token: Option<&str>, secure: bool) -> Result<HeaderMap, ApiError> {
    let (token, age_s) = match token {
        Some(token) => (token, LASTS_MS / 1000),
        None => ("", 0),
    };
    let secure = if secure { "; Secure" } else { "" };
    let text =
        format!("{COOKIE}={token}; Path=/; HttpOnly; SameSite=Strict; Max-Age={age_s}{secure}");
    let value = HeaderValue::from_str(&text).map_err(|error| ApiError::internal(&error))?;
    let mut headers = HeaderMap::new();
    headers.insert(header::SET_COOKIE, value);
    Ok(headers)
}

/// Whether the browser speaks https, as a proxy before us says.
#[must_use]
pub fn is_secure(headers: &HeaderMap) -> bool {
    headers
        .get("x-forwarded-proto")
        .is_some_and(|value| value.as_bytes().eq_ignore_ascii_case(b"https"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_cookie_is_found_among_others() {
        let mut headers = HeaderMap::new();
        headers.append(
            header::COOKIE,
            HeaderValue::from_static("a=1; lentic_session=abc; b=2"),
        );
        assert_eq!(of(&headers).as_deref(), Some("abc"));
    }

    #[test]
    fn behind_https_the_cookie_is_secure() {
        let text = |secure| {
            let headers = set(Some("t"), secure).expect("a header");
            headers[header::SET_COOKIE]
                .to_str()
                .expect("text")
                .to_owned()
        };
        assert!(text(true).ends_with("; Secure"));
        assert!(!text(false).contains("Secure"));
        assert!(text(false).contains("HttpOnly; SameSite=Strict"));
    }
}
