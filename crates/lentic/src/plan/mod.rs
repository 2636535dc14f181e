//! The main job: from a file that a builder wrote to a layout, its figures and its documents.
//!
//! [`mod@load`] finds and measures the pieces, the workshop lets them down, settles and
//! reckons, the server's documents and pictures draw.

pub mod file;
pub mod load;
pub mod outcome;
pub mod text;

use std::{
    path::{Path, PathBuf},
    sync::Arc,
};

use serde_json::{Value, json};
use workshop::{
    Composition, Layout, Reckoning,
    composition::{lay, reckon_error},
    findings::Finding,
    reckoning::{Memo, reckon},
};

use load::{Loaded, load};
use server::{
    bench::documents::{self, note},
    documents::{
        DocumentError, Particulars,
        build_sheet::{self, Pictures},
        paper::Paper,
        setting_out,
        units::Units,
    },
    reason,
    scene::View,
    taking_in::look::png,
};
use text::Refusal;

/// What the documents are to look like.
#[derive(Debug, Clone, PartialEq)]
pub struct Options {
    /// Paper of the sheets.
    pub paper: Paper,
    /// Units on the sheets.
    pub units: Units,
    /// Date on the sheets.
    pub date: String,
}

/// Why nothing was planned or written.
#[derive(Debug, thiserror::Error)]
pub enum PlanError {
    /// The layout file, the yard or a scan is at fault.
    #[error("{0}")]
    Refused(Refusal),
    /// A document could not be made.
    #[error("{name}: {error}")]
    Document {
        /// Which.
        name: &'static str,
        /// Why.
        error: DocumentError,
    },
    /// A file could not be written.
    #[error("{}: {error}", path.display())]
    Unwritten {
        /// Which.
        path: PathBuf,
        /// Why.
        error: std::io::Error,
    },
    /// A picture could not be packed.
    #[error("a picture could not be packed as PNG: {0}")]
    Picture(#[from] png::EncodingError),
}

impl From<Refusal> for PlanError {
    fn from(refusal: Refusal) -> Self {
        Self::Refused(refusal)
    }
}

/// A layout that was settled and reckoned.
pub struct Planned {
    /// The layout as the file puts it.
    pub layout: Layout,
    /// Every figure.
    pub reckoning: Reckoning,
    composition: Composition,
    loaded: Loaded,
    options: Options,
}

/// Reads a layout file, settles it and reckons it; `step` is told what is being done.
///
/// # Errors
/// At the line of what can't be used.
pub fn plan(path: &Path, options: &Options, step: &dyn Fn(&str)) -> Result<Planned, PlanError> {
    step("reading and measuring the pieces");
    let loaded = load(path)?;
    step("letting the pieces down");
    let composition = loaded.composition();
    let pieces: Vec<_> = loaded.pieces.iter().map(|p| Arc::clone(&p.piece)).collect();
    let layout = lay(&composition, &pieces).map_err(|error| loaded.text.refusal(error))?;
    step("settling and reckoning");
    let reckoning = reckon(&layout, &mut Memo::default())
        .map_err(|error| loaded.text.refusal(reckon_error(&error)))?;
    Ok(Planned {
        layout,
        reckoning,
        composition,
        loaded,
        options: options.clone(),
    })
}

impl Planned {
    /// The answer as text for a person.
    #[must_use]
    pub fn text(&self, files: &[String]) -> String {
        let notes: Vec<String> = self
            .loaded
            .pieces
            .iter()
            .flat_map(|p| {
                p.notes
                    .iter()
                    .map(move |note| format!("{}: {note}", p.piece.tag()))
            })
            .collect();
        outcome::text(
            &self.layout.title,
            &self.reckoning,
            &self.verdicts(),
            &notes,
            files,
        )
    }

    /// A line for every finding that spoils standing, with the line of the file it is about.
    fn verdicts(&self) -> Vec<String> {
        self.reckoning
            .findings()
            .filter(|finding| finding.spoils_standing())
            .map(|finding| {
                let line = self.line_of(finding).unwrap_or_default();
                let why = self
                    .reason_of(finding)
                    .map(|w| format!(": {w}"))
                    .unwrap_or_default();
                format!("{line}{}{why}", finding.caution().text)
            })
            .collect()
    }

    /// Why a piece moved; other findings say it themselves.
    fn reason_of(&self, finding: &Finding) -> Option<String> {
        let Finding::Moved(moved) = finding else {
            return None;
        };
        let i = self
            .layout
            .placed
            .iter()
            .position(|p| p.piece.tag() == moved.tag)?;
        let ground = self.reckoning.ground.top.as_deref();
        Some(reason::reason(
            &self.layout,
            &self.reckoning.stands.pieces,
            ground,
            i,
        ))
    }

    fn line_of(&self, finding: &Finding) -> Option<String> {
        let tag = finding.tag()?;
        let i = self
            .layout
            .placed
            .iter()
            .position(|p| p.piece.tag() == tag)?;
        let line = self.loaded.text.line(&format!("/piece/{i}"))?;
        Some(format!("{}:{line}: ", self.loaded.text.name()))
    }

    /// The answer for a program: what `reckoning.json` holds.
    #[must_use]
    pub fn json(&self) -> Value {
        let mut value = json!(self.reckoning);
        value["title"] = json!(self.layout.title);
        value["stands_as_put"] = json!(self.reckoning.does_stand());
        value
    }

    /// Writes all documents into a folder and names them.
    ///
    /// # Errors
    /// When a document can't be made or a file can't be written.
    pub fn write(&self, folder: &Path, step: &dyn Fn(&str)) -> Result<Vec<String>, PlanError> {
        let unwritten = |path: &Path| {
            let path = path.to_owned();
            move |error| PlanError::Unwritten { path, error }
        };
        std::fs::create_dir_all(folder).map_err(unwritten(folder))?;
        let mut names = Vec::new();
        let mut put = |name: &str, bytes: &[u8]| {
            let path = folder.join(name);
            std::fs::write(&path, bytes).map_err(unwritten(&path))?;
            names.push(path.display().to_string());
            Ok::<(), PlanError>(())
        };
        put("reckoning.json", format!("{:#}\n", self.json()).as_bytes())?;
        let view = self.view();
        put("layout.glb", &view.glb())?;
        step("drawing the setting-out sheet");
        let particulars = self.particulars();
        let sheet = setting_out::from_layout(&self.layout, &self.reckoning, &particulars);
        let document = |name: &'static str| move |error| PlanError::Document { name, error };
        put(
            "setting-out.pdf",
            &setting_out::render(&sheet).map_err(document("setting-out.pdf"))?,
        )?;
        step("taking the pictures");
        let (front, plan) = (view.front(), view.plan());
        put("front.png", &png(&front)?)?;
        put("plan.png", &png(&plan)?)?;
        let pictures = Pictures {
            pictures: vec![note("From the front", front), note("From above", plan)],
        };
        let sheet = build_sheet::from_layout(&self.layout, &self.reckoning, &particulars, pictures);
        put(
            "build-sheet.pdf",
            &build_sheet::render(&sheet).map_err(document("build-sheet.pdf"))?,
        )?;
        Ok(names)
    }

    fn particulars(&self) -> Particulars {
        documents::particulars(
            &self.layout,
            &self.composition,
            &self.reckoning.stands,
            self.options.paper,
            self.options.units,
            self.options.date.clone(),
        )
    }

    fn view(&self) -> View {
        let looks: Vec<_> = self
            .loaded
            .pieces
            .iter()
            .map(|p| Arc::clone(&p.look))
            .collect();
        View::of(&self.layout, &self.composition, &self.reckoning, &looks)
    }
}
