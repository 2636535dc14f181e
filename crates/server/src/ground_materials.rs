//! The ground materials that a builder can lay.

use axum::{Json, extract::State};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::json;
use workshop::composition::{BOUNDS, GroundKind, colour_of};

use crate::{
    App,
    http::{Api, ApiError, Body, Reply},
    people::Who,
    yard::change::short,
};

/// The setting that keeps them.
pub const SETTING: &str = "ground_materials";
/// Materials at most.
const MOST: usize = 100;

/// The materials and their version.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct GroundMaterials {
    /// Goes up with every change; 0 before the first.
    pub version: i64,
    /// The materials.
    pub materials: Vec<GroundKind>,
}

/// The routes.
#[must_use]
pub fn routes(api: Api) -> Api {
    api.group("layouts")
        .get(
            "/api/ground-materials",
            get,
            "The ground materials that a builder can lay",
        )
        .put("/api/ground-materials", put, "Sets the ground materials")
}

/// What a workshop begins with; densities and slopes are common practice, no source.
fn usual() -> Vec<GroundKind> {
    let kind = |name: &str,
                bulk: f64,
                grain: Option<f64>,
                grain_mm: f64,
                repose_deg: f64,
                colour: &str| GroundKind {
        name: name.to_owned(),
        bulk_density_kg_m3: bulk,
        grain_density_kg_m3: grain,
        grain_mm: Some(grain_mm),
        repose_deg,
        bag_l: None,
        price: None,
        colour: Some(colour.to_owned()),
    };
    vec![
        kind("quartz sand", 1550.0, Some(2650.0), 0.6, 32.0, "#cbb995"),
        kind("fine gravel", 1600.0, Some(2650.0), 3.0, 35.0, "#a79a83"),
        kind("baked soil grains", 900.0, None, 2.5, 34.0, "#4a4239"),
        kind("crushed lava", 800.0, None, 8.0, 38.0, "#5b3d34"),
    ]
}

async fn get(State(app): State<App>) -> Reply<GroundMaterials> {
    let setting = app.store.setting(SETTING).await?;
    Ok(Json(match setting {
        None => GroundMaterials {
            version: 0,
            materials: usual(),
        },
        Some(setting) => GroundMaterials {
            version: setting.version,
            materials: serde_json::from_value(setting.value)
                .map_err(|error| ApiError::internal(&error))?,
        },
    }))
}

async fn put(
    State(app): State<App>,
    who: Who,
    Body(asked): Body<GroundMaterials>,
) -> Reply<GroundMaterials> {
    check(&asked.materials)?;
    let value = json!(asked.materials);
    let setting = app
        .store
        .set(&who.by(), SETTING, Some(asked.version), value)
        .await?;
    Ok(Json(GroundMaterials {
        version: setting.version,
        materials: asked.materials,
    }))
}

fn check(materials: &[GroundKind]) -> Result<(), ApiError> {
    if materials.len() > MOST {
        let message = format!("{} are too many: at most {MOST}", materials.len());
        return Err(ApiError::refused("/materials", message, "remove some"));
    }
    // The bounds of a composition hold for its materials, wherever they are kept.
    method::bound::check(&json!({ "material": materials }), BOUNDS).map_err(|e| {
        let mut error = ApiError::from(e);
        error.told.path = error.told.path.replacen("/material", "/materials", 1);
        error
    })?;
    for (i, kind) in materials.iter().enumerate() {
        short(&format!("/materials/{i}/name"), &kind.name, 200)?;
        let path = format!("/materials/{i}/colour");
        if kind
            .colour
            .as_deref()
            .is_some_and(|c| colour_of(c).is_none())
        {
            return Err(ApiError::refused(
                &path,
                "it is no colour",
                "write # and six hexadecimal digits",
            ));
        }
        if kind.name.trim().is_empty() || materials[..i].iter().any(|m| m.name == kind.name) {
            let path = format!("/materials/{i}/name");
            return Err(ApiError::refused(
                &path,
                "each material has a name of its own",
                "name it otherwise",
            ));
        }
    }
    Ok(())
}
