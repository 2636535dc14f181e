//! Documents of a layout: the setting-out sheet and the build sheet.

use std::sync::Arc;

use axum::extract::State;
use schemars::JsonSchema;
use serde::Deserialize;
use solid::picture::Picture;
use workshop::{Composition, Layout, Reckoning, reckoning::Stands};

use super::{
    open::{Laid, current},
    pictures, reckon, settle,
};
use crate::{
    App,
    clock::today,
    documents::{
        DocumentError, Particulars, Placing,
        build_sheet::{self, NotePicture, Pictures},
        paper::Paper,
        setting_out,
        units::Units,
    },
    http::{
        Api, ApiError, At, Params,
        reply::{File, Pdf},
    },
    people::{Who, routes::UnitsWord},
};

/// What a document is to look like.
#[derive(Debug, Clone, Copy, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DocumentQuery {
    /// What it is printed on; A4 when absent.
    #[serde(default)]
    paper: Option<PaperWord>,
    /// How lengths and masses are written; as the user prefers when absent.
    #[serde(default)]
    units: Option<UnitsWord>,
}

/// Paper.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum PaperWord {
    /// 210 mm × 297 mm.
    A4,
    /// 8 ½ in × 11 in.
    Letter,
    /// 297 mm × 420 mm.
    A3,
    /// One sheet as large as the drawing.
    Sheet,
}

impl From<PaperWord> for Paper {
    fn from(paper: PaperWord) -> Self {
        match paper {
            PaperWord::A4 => Self::A4,
            PaperWord::Letter => Self::Letter,
            PaperWord::A3 => Self::A3,
            PaperWord::Sheet => Self::Sheet,
        }
    }
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.get(
        "/api/layouts/{id}/setting-out.pdf",
        setting_out,
        "The plan at full size to build on, and the front",
    )
    .get(
        "/api/layouts/{id}/build-sheet.pdf",
        build_sheet,
        "Pieces in the order of work, ground, figures, steps",
    )
}

impl From<DocumentError> for ApiError {
    fn from(error: DocumentError) -> Self {
        Self::refused("", error.to_string(), error.hint())
    }
}

/// What documents need beside a layout and its reckoning.
#[must_use]
pub fn particulars(
    layout: &Layout,
    composition: &Composition,
    stands: &Stands,
    paper: Paper,
    units: Units,
    date: String,
) -> Particulars {
    let placings = composition
        .piece
        .iter()
        .map(|at| Placing {
            turn_deg: at.turn_deg,
            pose: match at.quaternion {
                Some(_) => None,
                None => Some(at.pose.unwrap_or(1)),
            },
            bury_mm: at.bury_mm,
        })
        .collect();
    let touches = stands
        .settled
        .as_deref()
        .map(|settled| Particulars::touches_of(layout, settled))
        .unwrap_or_default();
    Particulars {
        date,
        paper,
        units,
        placings,
        touches,
    }
}

struct Sheet {
    laid: Arc<Laid>,
    reckoning: Reckoning,
    particulars: Particulars,
}

async fn sheet(app: &App, who: &Who, id: i64, asked: DocumentQuery) -> Result<Sheet, ApiError> {
    let kept = app.store.layout(id).await?;
    let (bench, laid) = current(app, &kept).await?;
    let figures = reckon::as_put(app, &bench, &laid).await?;
    let stands = settle::stands(app, &bench, &laid).await?;
    let paper = asked.paper.map_or(Paper::A4, Into::into);
    let units = match asked.units.unwrap_or_else(|| who.units.into()) {
        UnitsWord::Metric => Units::Metric,
        UnitsWord::Us => Units::Us,
    };
    Ok(Sheet {
        reckoning: pictures::whole(&figures, &stands),
        particulars: particulars(
            &laid.layout,
            &laid.composition,
            &stands,
            paper,
            units,
            today(),
        ),
        laid,
    })
}

async fn setting_out(
    State(app): State<App>,
    who: Who,
    At(id): At<i64>,
    Params(asked): Params<DocumentQuery>,
) -> Result<File<Pdf>, ApiError> {
    let sheet = sheet(&app, &who, id, asked).await?;
    let name = format!("{} setting-out.pdf", sheet.laid.layout.title);
    let bytes = app
        .crew
        .long(move || {
            let description =
                setting_out::from_layout(&sheet.laid.layout, &sheet.reckoning, &sheet.particulars);
            setting_out::render(&description)
        })
        .await??;
    Ok(File::new(bytes).called(name))
}

async fn build_sheet(
    State(app): State<App>,
    who: Who,
    At(id): At<i64>,
    Params(asked): Params<DocumentQuery>,
) -> Result<File<Pdf>, ApiError> {
    let sheet = sheet(&app, &who, id, asked).await?;
    let name = format!("{} build-sheet.pdf", sheet.laid.layout.title);
    let bytes = app
        .crew
        .long(move || {
            let (laid, reckoning) = (&sheet.laid, &sheet.reckoning);
            let view =
                crate::scene::View::of(&laid.layout, &laid.composition, reckoning, &laid.looks());
            let pictures = Pictures {
                pictures: vec![
                    note("From the front", view.front()),
                    note("From above", view.plan()),
                ],
            };
            let description =
                build_sheet::from_layout(&laid.layout, reckoning, &sheet.particulars, pictures);
            build_sheet::render(&description)
        })
        .await??;
    Ok(File::new(bytes).called(name))
}

/// A picture with its words.
#[must_use]
pub fn note(caption: &str, picture: Picture) -> NotePicture {
    NotePicture {
        caption: caption.to_owned(),
        width_px: picture.width,
        height_px: picture.height,
        rgb: Arc::new(picture.rgb),
    }
}
