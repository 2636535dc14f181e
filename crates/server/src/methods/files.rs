//! The scans that a method's input names, read before it runs.

use std::{collections::BTreeMap, sync::Arc};

use method::{FileRefused, Files};
use serde_json::Value;
use store::{ObjectId, StoreError, UploadKind};

use crate::{App, http::ApiError};

/// Scans of one input at most.
const MOST: usize = 64;

/// Scans by the name that the input gives them: an upload's id or a piece's tag.
#[derive(Debug, Default)]
pub struct Kept(BTreeMap<String, Arc<[u8]>>);

impl Kept {
    /// Reads every scan that the input names as `{"object": …}`.
    ///
    /// # Errors
    /// When it names too many, or the store fails; one that isn't there is left
    /// to the method, which knows the place.
    pub async fn named_in(app: &App, input: &Value) -> Result<Self, ApiError> {
        let mut names = Vec::new();
        objects(input, &mut names);
        if names.len() > MOST {
            let message = format!("{} scans are too many: at most {MOST}", names.len());
            return Err(ApiError::refused("", message, "ask for fewer at once"));
        }
        let mut kept = Self::default();
        for name in names {
            if let Some(object) = object_of(app, &name).await? {
                let bytes = app.store.objects().get(&object).await?;
                kept.0.insert(name, bytes.as_ref().into());
            }
        }
        Ok(kept)
    }
}

/// The values of every `{"object": "…"}` in an input.
fn objects(value: &Value, names: &mut Vec<String>) {
    match value {
        Value::Array(items) => items.iter().for_each(|item| objects(item, names)),
        Value::Object(map) => {
            if let (1, Some(Value::String(name))) = (map.len(), map.get("object"))
                && !names.contains(name)
            {
                names.push(name.clone());
            }
            map.values().for_each(|item| objects(item, names));
        }
        _ => {}
    }
}

async fn object_of(app: &App, name: &str) -> Result<Option<ObjectId>, ApiError> {
    let found = match (name.parse::<i64>(), name.parse()) {
        (Ok(id), _) => app.store.upload(id).await.map(|upload| match upload.kind {
            UploadKind::Scan => Some(upload.object),
            UploadKind::Photograph => None,
        }),
        (_, Ok(tag)) => app
            .store
            .piece(tag)
            .await
            .map(|piece| piece.shape.or(piece.scan)),
        _ => return Ok(None),
    };
    match found {
        Ok(object) => Ok(object),
        Err(StoreError::Missing { .. }) => Ok(None),
        Err(error) => Err(error.into()),
    }
}

impl Files for Kept {
    fn bytes(&self, name: &str) -> Result<Arc<[u8]>, FileRefused> {
        self.0.get(name).cloned().ok_or_else(|| FileRefused {
            message: format!(
                "there is no scan {:?}",
                name.chars().take(60).collect::<String>()
            ),
            hint: "upload the scan and name its id as {\"object\": \"id\"}, or a piece's tag"
                .to_owned(),
        })
    }
}
