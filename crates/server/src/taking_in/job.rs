//! The job that takes a piece in: read, mend, measure, draw, tag.

use std::sync::Arc;

use axum::extract::State;
use bytes::Bytes;
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use solid::{
    measure::MeasureOptions,
    read::{ReadOptions, Unit, Up},
    write,
};
use store::{By, Job, MassCertainty, Measured, ObjectId, TakeIn, UploadKind};
use workshop::{PieceKind, fit::FitForm};

use super::{
    JOB, look,
    measures::{Measures, front_mm, likeliest},
    take::{self, Taken},
};
use crate::{
    App,
    clock::now_ms,
    figure::Money,
    http::{Accepted, Api, ApiError, Body},
    jobs::{Ended, Progress, desk, routes::Started},
    people::Who,
    yard::{
        card::{KindWord, StateWord},
        change::{price, short, within},
    },
};

/// Friction of wood and stone that nobody measured: common practice, no source.
pub const USUAL_FRICTION: f64 = 0.6;
/// Photographs that are taken in at once.
const MOST_PHOTOGRAPHS: usize = 50;

/// A piece to be taken in.
#[derive(Debug, Clone, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TakingIn {
    /// Stone or wood.
    pub kind: KindWord,
    /// The kind of stone or wood.
    pub material: String,
    /// Density of its material.
    pub density_kg_m3: f64,
    /// Unit of the scan's numbers; not needed for glTF.
    #[serde(default)]
    pub unit: Option<UnitWord>,
    /// The scan's upward axis; z when absent, y for glTF.
    #[serde(default)]
    pub up: Option<UpWord>,
    /// Mass on the scale.
    #[serde(default)]
    pub mass_kg: Option<f64>,
    /// Friction on others of its kind; 0.6 when absent.
    #[serde(default)]
    pub friction: Option<f64>,
    /// Where it lies.
    #[serde(default)]
    pub place: String,
    /// What it costs.
    #[serde(default)]
    pub price: Option<Money>,
    /// Whether it can be had: in preparation, ready or on display.
    pub state: StateWord,
    /// What the workshop says of it.
    #[serde(default)]
    pub notes: Option<String>,
    /// The upload that is its scan.
    pub scan: i64,
    /// Uploads that become its photographs.
    #[serde(default)]
    pub photographs: Vec<i64>,
}

/// Unit of a scan's numbers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum UnitWord {
    /// Millimetre.
    Mm,
    /// Centimetre.
    Cm,
    /// Metre.
    M,
    /// Inch, 25.4 mm.
    In,
}

/// A scan's upward axis.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum UpWord {
    /// z.
    Z,
    /// y.
    Y,
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.post(
        "/api/taking-in",
        start,
        "Starts taking a piece in; the job's result is its tag",
    )
}

async fn start(
    State(app): State<App>,
    who: Who,
    Body(asked): Body<TakingIn>,
) -> Result<Accepted<Started>, ApiError> {
    check(&asked)?;
    let missing = |path: String, id: i64| {
        ApiError::refused(
            &path,
            format!("there is no upload {id}"),
            "upload the file first",
        )
    };
    let scan = app.store.upload(asked.scan).await;
    let scan = scan.map_err(|_| missing("/scan".to_owned(), asked.scan))?;
    if scan.kind != UploadKind::Scan {
        let message = format!("{} is a picture", scan.name);
        return Err(ApiError::refused(
            "/scan",
            message,
            "upload an OBJ, PLY, STL, GLB or glTF scan",
        ));
    }
    for (i, id) in asked.photographs.iter().enumerate() {
        let path = format!("/photographs/{i}");
        let upload = app
            .store
            .upload(*id)
            .await
            .map_err(|_| missing(path.clone(), *id))?;
        if upload.kind != UploadKind::Photograph {
            let message = format!("{} is no photograph", upload.name);
            return Err(ApiError::refused(
                &path,
                message,
                "upload JPEG, PNG or WebP pictures",
            ));
        }
    }
    let job = desk::put_in(&app, &who.by(), JOB, scan.name, json!(asked)).await?;
    Ok(Accepted(Started { job: job.id }))
}

fn check(asked: &TakingIn) -> Result<(), ApiError> {
    if matches!(asked.state, StateWord::Held | StateWord::Sold) {
        return Err(ApiError::refused(
            "/state",
            "a new piece is neither held nor sold",
            "take it in first",
        ));
    }
    if asked.material.trim().is_empty() {
        return Err(ApiError::refused(
            "/material",
            "the material has no name",
            "name the kind of stone or wood",
        ));
    }
    short("/material", &asked.material, 200)?;
    short("/place", &asked.place, 200)?;
    short("/notes", asked.notes.as_deref().unwrap_or_default(), 10_000)?;
    within("/density_kg_m3", asked.density_kg_m3, 49.9, 20_000.0)?;
    asked
        .mass_kg
        .map(|m| within("/mass_kg", m, 0.0, 2000.0))
        .transpose()?;
    asked
        .friction
        .map(|f| within("/friction", f, 0.0, 3.0))
        .transpose()?;
    asked
        .price
        .as_ref()
        .map(|m| price("/price", m))
        .transpose()?;
    if asked.photographs.len() > MOST_PHOTOGRAPHS {
        let message = format!("over {MOST_PHOTOGRAPHS} photographs at once");
        return Err(ApiError::refused(
            "/photographs",
            message,
            "add the others on the piece's page",
        ));
    }
    Ok(())
}

/// Takes a piece in.
///
/// # Errors
/// When the scan is no good, or nobody wants it any more.
pub async fn run(app: &App, job: &Arc<Job>, progress: &Progress) -> Result<Value, Ended> {
    let asked: TakingIn =
        serde_json::from_value(job.input.clone()).map_err(|error| ApiError::internal(&error))?;
    progress.go_on(0.02, "reading the scan")?;
    let upload = app.store.upload(asked.scan).await?;
    let bytes = app.store.objects().get(&upload.object).await?;
    let options = ReadOptions {
        unit: asked.unit.map(|unit| match unit {
            UnitWord::Mm => Unit::Mm,
            UnitWord::Cm => Unit::Cm,
            UnitWord::M => Unit::M,
            UnitWord::In => Unit::In,
        }),
        up: asked.up.map(|up| match up {
            UpWord::Z => Up::Z,
            UpWord::Y => Up::Y,
        }),
    };
    let known = MeasureOptions {
        mass_kg: asked.mass_kg,
        density_kg_m3: Some(asked.density_kg_m3),
    };
    let (name, heard) = (upload.name.clone(), progress.clone());
    let taken = app
        .crew
        .long(move || {
            heard.go_on(0.1, "mending and measuring")?;
            take::take(&bytes, &name, &options, &known).map_err(|fault| {
                let at = format!("/{}", fault.at.key());
                Ended::from(ApiError::from(fault.error).at(at))
            })
        })
        .await??;
    progress.go_on(0.6, "drawing")?;
    let kind = PieceKind::from(asked.kind);
    let measured = kept(app, &taken, kind, Some(upload.object), true).await?;
    progress.go_on(0.95, "tagging")?;
    let volume_m3 = taken.measure.moments.volume_m3;
    let new = TakeIn {
        kind,
        tag: None,
        material: asked.material,
        state: asked.state.into(),
        place: asked.place,
        density_kg_m3: asked.density_kg_m3,
        friction: asked.friction.unwrap_or(USUAL_FRICTION),
        mass_kg: asked.mass_kg.unwrap_or(asked.density_kg_m3 * volume_m3),
        mass_certainty: match asked.mass_kg {
            Some(_) => MassCertainty::Measured,
            None => MassCertainty::Estimated,
        },
        price: asked
            .price
            .as_ref()
            .map(|m| price("/price", m))
            .transpose()?,
        notes: asked.notes.unwrap_or_default(),
        measured,
        photographs: asked.photographs,
    };
    let by = By::new(&job.who, now_ms());
    let piece = app.store.take_in(&by, new).await?;
    Ok(json!({ "tag": piece.card.tag.to_string(), "notes": taken.notes }))
}

/// What is kept of a scan that was taken.
///
/// # Errors
/// When the store fails.
pub async fn kept(
    app: &App,
    taken: &Taken,
    kind: PieceKind,
    scan: Option<ObjectId>,
    with_picture: bool,
) -> Result<Measured, ApiError> {
    let again = taken.clone();
    let (shape, picture) = app
        .crew
        .long(move || {
            let turn = likeliest(&again.measure);
            let picture = with_picture.then(|| look::png(&look::picture(&again.look, kind, turn)));
            (write::ply(&again.look), picture)
        })
        .await?;
    let objects = app.store.objects();
    let picture = match picture {
        None => None,
        Some(png) => {
            let png = png.map_err(|error| ApiError::internal(&error))?;
            Some(objects.put(Bytes::from(png)).await?.id)
        }
    };
    let shape = objects.put(Bytes::from(shape)).await?.id;
    let (measure, look) = (&taken.measure, &taken.look);
    let measured = Measured {
        scan,
        shape: Some(shape.clone()),
        picture,
        size_mm: (measure.least_box.size_m * 1e3).to_array(),
        as_laid_mm: (measure.as_laid_m * 1e3).to_array(),
        colour: look::mean_colour(look, kind),
        outline_mm: front_mm(measure),
        measure: json!(Measures::of(measure)),
        fit: FitForm::of(measure).bytes().to_vec(),
    };
    app.shapes.keep(shape, taken);
    Ok(measured)
}
