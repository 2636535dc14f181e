//! Objects in a bucket, in builds that can use one.

use super::Objects;
use crate::StoreError;

/// Objects at `s3://bucket/prefix`; keys and region come from the usual `AWS_…` variables.
#[cfg(feature = "s3")]
pub(super) fn s3(address: &str) -> Result<Objects, StoreError> {
    use std::sync::Arc;

    use object_store::{aws::AmazonS3Builder, path::Path as Key};

    let store = AmazonS3Builder::from_env().with_url(address).build()?;
    let prefix = address
        .trim_start_matches("s3://")
        .split_once('/')
        .map_or("", |(_, prefix)| prefix);
    Ok(Objects {
        store: Arc::new(store),
        prefix: Key::from(prefix),
        root: None,
    })
}

/// Refuses a bucket.
#[cfg(not(feature = "s3"))]
pub(super) fn s3(address: &str) -> Result<Objects, StoreError> {
    Err(StoreError::Address {
        address: address.to_owned(),
        reason: "this build has no S3; build it with the feature `s3`".to_owned(),
    })
}
