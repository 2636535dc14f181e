//! Passwords: kept as Argon2id hashes only.

use argon2::{
    Argon2,
    password_hash::{PasswordHasher, PasswordVerifier, phc::PasswordHash},
};

use crate::http::ApiError;

/// The least length of a password.
pub const LEAST: usize = 10;
/// The greatest: hashing more is only work for the server.
pub const MOST: usize = 200;

/// Holds a new password against the rules.
///
/// # Errors
/// 422 at `/password`.
pub fn check(password: &str) -> Result<(), ApiError> {
    let n = password.chars().count();
    if (LEAST..=MOST).contains(&n) {
        return Ok(());
    }
    Err(ApiError::refused(
        "/password",
        format!("a password has {LEAST} to {MOST} characters, this one {n}"),
        "a few words in a row are easy to remember and hard to guess",
    ))
}

/// The hash of a password under a salt of its own (Argon2id, 19 MiB, 2 passes:
/// the library's default, which is the first choice of RFC 9106's low-memory kind).
///
/// # Errors
/// When the machine gives no randomness.
pub fn hash(password: &str) -> Result<String, ApiError> {
    let hash = Argon2::default()
        .hash_password(password.as_bytes())
        .map_err(|error| ApiError::internal(&error))?;
    Ok(hash.to_string())
}

/// Whether a password is the one of a hash.
#[must_use]
pub fn is(password: &str, hash: &str) -> bool {
    PasswordHash::new(hash).is_ok_and(|hash| {
        Argon2::default()
            .verify_password(password.as_bytes(), &hash)
            .is_ok()
    })
}

/// Does the work of [`is`] for a name that nobody has, so that a stranger can't
/// tell by the time whether there is one.
pub fn pretend(password: &str) {
    // The hash is thrown away: only the time counts.
    let _ = hash(password);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hash_is_argon2id_with_its_own_salt_and_knows_its_password() {
        let (one, other) = (
            hash("correct horse battery").expect("a hash"),
            hash("correct horse battery").expect("a hash"),
        );
        assert!(one.starts_with("$argon2id$"));
        assert_ne!(one, other);
        assert!(is("correct horse battery", &one));
        assert!(!is("correct horse batterz", &one));
        assert!(!is("correct horse battery", "not a hash"));
    }
}
