//! Files that come in: streamed to the disk, counted, looked at, never trusted by name.

use axum::{Json, body::Body, extract::State};
use bytes::Bytes;
use futures_util::StreamExt;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use store::UploadKind;

use crate::{
    App,
    http::{Api, ApiError, Params, Reply},
    people::Who,
};

/// Bytes of a scan.
const MOST_SCAN: u64 = 512 * 1024 * 1024;
/// Bytes of a photograph.
const MOST_PHOTOGRAPH: u64 = 40 * 1024 * 1024;
/// Letters of a file's name.
const MOST_LETTERS: usize = 120;
/// Bytes at the start that tell what a file is.
const HEAD: usize = 16;

/// The file's name.
#[derive(Debug, Clone, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Named {
    /// As the user's disk calls it.
    name: String,
}

/// A file that came in.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct UploadView {
    /// Its id.
    pub id: i64,
    /// Its name, cleaned.
    pub name: String,
    /// How large it is.
    pub bytes: i64,
    /// What it is.
    pub kind: UploadWord,
}

/// What a file that came in is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum UploadWord {
    /// A scan.
    Scan,
    /// A photograph.
    Photograph,
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.post(
        "/api/uploads",
        post,
        "Takes a scan or a photograph as it is; the body is the file",
    )
}

/// The content type of a picture, by its first bytes.
#[must_use]
pub fn picture_type(head: &[u8]) -> Option<&'static str> {
    // JPEG (ITU-T T.81: SOI, then a marker), PNG (W3C, signature), WebP (RIFF form).
    if head.starts_with(&[0xff, 0xd8, 0xff]) {
        Some("image/jpeg")
    } else if head.starts_with(b"\x89PNG\r\n\x1a\n") {
        Some("image/png")
    } else if head.starts_with(b"RIFF") && head.get(8..12) == Some(b"WEBP") {
        Some("image/webp")
    } else {
        None
    }
}

/// The last part of a name, of letters that are harmless anywhere.
#[must_use]
pub fn cleaned(name: &str) -> String {
    let last = name.rsplit(['/', '\\']).next().unwrap_or_default();
    let plain: String = last
        .chars()
        .filter(|c| !c.is_control() && !matches!(c, '<' | '>' | ':' | '"' | '|' | '?' | '*'))
        .collect();
    let plain = plain.trim().trim_start_matches('.').trim();
    let n = plain.chars().count();
    // The ending stays: it is what a reader looks at.
    plain.chars().skip(n.saturating_sub(MOST_LETTERS)).collect()
}

async fn post(
    State(app): State<App>,
    who: Who,
    Params(asked): Params<Named>,
    body: Body,
) -> Reply<UploadView> {
    let name = cleaned(&asked.name);
    if name.is_empty() {
        return Err(ApiError::refused(
            "/name",
            "the file has no name",
            "name it as on your disk",
        ));
    }
    let mut parts = body.into_data_stream();
    let mut head: Vec<u8> = Vec::new();
    let mut early: Vec<Bytes> = Vec::new();
    while head.len() < HEAD {
        let Some(part) = parts.next().await else {
            break;
        };
        let part = part.map_err(|_| broken())?;
        head.extend(part.iter().take(HEAD - head.len()));
        early.push(part);
    }
    if head.is_empty() {
        return Err(ApiError::refused(
            "",
            "the file is empty",
            "send the file as the body",
        ));
    }
    let (kind, most, limit) = match picture_type(&head) {
        Some(_) => (
            UploadKind::Photograph,
            MOST_PHOTOGRAPH,
            "40 MB of a photograph",
        ),
        None => (UploadKind::Scan, MOST_SCAN, "512 MB of a scan"),
    };
    let mut writer = app.store.objects().writer().await?;
    let mut early = early.into_iter();
    loop {
        let part = match early.next() {
            Some(part) => part,
            None => match parts.next().await {
                None => break,
                Some(Ok(part)) => part,
                Some(Err(_)) => {
                    writer.give_up().await?;
                    return Err(broken());
                }
            },
        };
        if writer.size_bytes() + part.len() as u64 > most {
            writer.give_up().await?;
            return Err(ApiError::too_large(limit));
        }
        writer.write(part).await?;
    }
    let kept = writer.finish().await?;
    let upload = app.store.add_upload(&who.by(), &name, kind, &kept).await?;
    Ok(Json(UploadView {
        id: upload.id,
        name: upload.name,
        bytes: upload.size_bytes,
        kind: match upload.kind {
            UploadKind::Scan => UploadWord::Scan,
            UploadKind::Photograph => UploadWord::Photograph,
        },
    }))
}

fn broken() -> ApiError {
    ApiError::malformed("the file broke off on its way", "send it again")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hostile_name_is_only_its_last_harmless_part() {
        for (name, clean) in [
            ("stone.ply", "stone.ply"),
            ("../../etc/passwd", "passwd"),
            ("C:\\scans\\big stone.obj", "big stone.obj"),
            ("..", ""),
            ("a\0b\r\n<c>.stl", "abc.stl"),
            ("  .hidden.ply ", "hidden.ply"),
            ("Stein Größe.glb", "Stein Größe.glb"),
        ] {
            assert_eq!(cleaned(name), clean);
        }
        assert!(cleaned(&format!("{}.ply", "x".repeat(500))).ends_with("x.ply"));
    }

    #[test]
    fn a_picture_is_known_by_its_bytes() {
        assert_eq!(picture_type(b"\x89PNG\r\n\x1a\n...."), Some("image/png"));
        assert_eq!(picture_type(b"RIFF\0\0\0\0WEBPVP8 "), Some("image/webp"));
        assert_eq!(picture_type(b"ply\nformat ascii"), None);
        assert_eq!(picture_type(b""), None);
    }
}
