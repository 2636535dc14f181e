//! The job that grows a piece of the demo's shelf and takes it in.

use std::sync::Arc;

use bytes::Bytes;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use solid::{measure::MeasureOptions, read::ReadOptions};
use store::{Job, MassCertainty, PieceState, StoreError, TakeIn};
use workshop::{Currency, Money, PieceKind, Tag};

use super::{DemoError, by, layouts, shelf};
use crate::{
    App,
    http::ApiError,
    jobs::{Ended, Progress, desk},
    taking_in::{
        job::{USUAL_FRICTION, kept},
        take,
    },
    yard::{file::YardPiece, picture},
};

/// The kind of the job.
pub const JOB: &str = "grow_piece";
/// Pieces of the shelf that are not ready, so that every state is there to see.
const IN_PREPARATION: [&str; 3] = ["W-0223", "W-0231", "S-0164"];
/// Pieces that are shown.
const ON_DISPLAY: [&str; 2] = ["S-0161", "W-0201"];

/// The piece to grow.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Input {
    /// Its tag on the shelf.
    pub tag: String,
}

impl From<DemoError> for Ended {
    fn from(error: DemoError) -> Self {
        ApiError::internal(&error).into()
    }
}

/// Grows a piece and takes it in.
///
/// # Errors
/// When it is not on the shelf, or the store fails.
pub async fn run(app: &App, job: &Arc<Job>, progress: &Progress) -> Result<Value, Ended> {
    let input: Input = serde_json::from_value(job.input.clone()).map_err(|e| fault(&e))?;
    let shelf = shelf()?;
    let found = shelf.piece.into_iter().find(|piece| piece.tag == input.tag);
    let text = found.ok_or_else(|| ApiError::missing(format!("{} on the shelf", input.tag)))?;
    let tag: Tag = input.tag.parse().map_err(|e| fault(&e))?;
    match app.store.piece(tag).await {
        // A run that was cut off had come so far.
        Ok(_) => {}
        Err(StoreError::Missing { .. }) => {
            take_in(app, tag, text, shelf.currency.as_deref(), progress).await?;
        }
        Err(error) => return Err(error.into()),
    }
    let draw = json!(picture::Input {
        tag: input.tag.clone()
    });
    desk::put_in(app, &by(), picture::JOB, tag, draw).await?;
    layouts::make_ready(app).await?;
    Ok(json!({ "tag": input.tag }))
}

fn fault(error: &dyn std::fmt::Display) -> Ended {
    ApiError::internal(error).into()
}

async fn take_in(
    app: &App,
    tag: Tag,
    text: YardPiece,
    currency: Option<&str>,
    progress: &Progress,
) -> Result<(), Ended> {
    let grown = text.grown.clone();
    let grown = grown.ok_or_else(|| fault(&"a demo piece has no seed"))?;
    let density = text.density_kg_m3;
    let density_kg_m3 = density.ok_or_else(|| fault(&"a demo piece has no density"))?;
    progress.go_on(0.05, "growing")?;
    let (named, heard) = (text.scan.clone(), progress.clone());
    let known = MeasureOptions {
        mass_kg: text.mass_kg,
        density_kg_m3: Some(density_kg_m3),
    };
    let (bytes, taken) = app
        .crew
        .long(move || {
            let bytes = take::grown(&grown.form, grown.seed, grown.long_mm)
                .map_err(|error| fault(&error))?;
            heard.go_on(0.5, "measuring")?;
            let taken = take::take(&bytes, &named, &ReadOptions::default(), &known)
                .map_err(|found| fault(&found.error))?;
            Ok::<_, Ended>((bytes, taken))
        })
        .await??;
    progress.go_on(0.9, "tagging")?;
    let scan = app.store.objects().put(Bytes::from(bytes)).await?.id;
    let measured = kept(app, &taken, tag.kind(), Some(scan), false).await?;
    let volume_m3 = taken.measure.moments.volume_m3;
    let new = TakeIn {
        kind: tag.kind(),
        tag: Some(tag),
        state: state(&text.tag),
        price: price(text.price, currency)?,
        material: text.material,
        place: text.place.unwrap_or_default(),
        density_kg_m3,
        friction: text.friction.unwrap_or(USUAL_FRICTION),
        mass_kg: text.mass_kg.unwrap_or(density_kg_m3 * volume_m3),
        mass_certainty: match text.mass_kg {
            Some(_) => MassCertainty::Measured,
            None => MassCertainty::Estimated,
        },
        notes: match tag.kind() {
            PieceKind::Stone => String::new(),
            PieceKind::Wood => "Weighed dry.".to_owned(),
        },
        measured,
        photographs: Vec::new(),
    };
    match app.store.take_in(&by(), new).await {
        Ok(_) | Err(StoreError::Exists { .. }) => Ok(()),
        Err(error) => Err(error.into()),
    }
}

fn price(amount: Option<f64>, currency: Option<&str>) -> Result<Option<Money>, Ended> {
    let (Some(amount), Some(code)) = (amount, currency) else {
        return Ok(None);
    };
    let currency = Currency::new(code).map_err(|e| fault(&e))?;
    Money::from_amount(amount, currency)
        .map(Some)
        .map_err(|e| fault(&e))
}

fn state(tag: &str) -> PieceState {
    if IN_PREPARATION.contains(&tag) {
        PieceState::InPreparation
    } else if ON_DISPLAY.contains(&tag) {
        PieceState::OnDisplay
    } else {
        PieceState::Ready
    }
}
