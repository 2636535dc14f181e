//! `solid.measure` against closed forms and reference libraries.
//!
//! The figures are in `checks/*.json`, each with its source; `method show`
//! prints the same data.

use std::path::PathBuf;
use std::sync::Arc;

use glam::{DQuat, DVec3};
use method::{CaseFile, FileRefused, Files, Registry};
use serde_json::{Value, json};

/// Files below this crate's `checks` folder.
struct Checks;

impl Files for Checks {
    fn bytes(&self, name: &str) -> Result<Arc<[u8]>, FileRefused> {
        let path = PathBuf::from(env!("CARGO_MANIFEST_DIR"))
            .join("checks")
            .join(name);
        std::fs::read(path)
            .map(Into::into)
            .map_err(|error| FileRefused {
                message: error.to_string(),
                hint: "check the name".to_owned(),
            })
    }
}

fn registry() -> Registry {
    solid::methods::register(Registry::default())
}

fn measured(input: &Value) -> Value {
    registry()
        .get("solid.measure")
        .expect("registered")
        .run_json(input, &Checks)
        .expect("measures")
}

#[test]
fn every_case_of_the_check_files_holds() {
    let registry = registry();
    let method = registry.get("solid.measure").expect("registered");
    let files: Vec<CaseFile> = method.case_files().expect("well formed");
    let failures: Vec<String> = files
        .iter()
        .flat_map(|file| file.failures(&registry, &Checks))
        .collect();
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

/// Poses by direction and the least box by its product, from `expected.json`:
/// trimesh 5.2 and independent searches.
#[test]
fn poses_lie_where_the_reference_says() {
    let text = include_str!("data/solids/expected.json");
    let expected: Value = serde_json::from_str(text).expect("JSON");
    let mut failures = Vec::new();
    for case in expected["cases"].as_array().expect("cases") {
        let mut input = case["input"].clone();
        let mesh = format!("meshes/{}", input["mesh"].as_str().expect("a name"));
        input["mesh"] = json!(mesh);
        let is_y_up = input["up"] == "y";
        let output = measured(&input);
        let tolerance = |key: &str| case["tolerances"][key].as_f64().expect("a number");
        let mut hold = |what: &str, got: f64, want: f64, abs: f64| {
            if (got - want).abs() > abs {
                failures.push(format!("{mesh} {what}: {got}, wanted {want} ± {abs}"));
            }
        };
        let size = &output["size_mm"];
        let product: f64 = ["long", "mid", "short"]
            .iter()
            .map(|side| size[side].as_f64().expect("a side"))
            .product();
        let least = case["expected"]["box_volume_l"].as_f64().expect("litres") * 1e6;
        hold("box", product, 1.002 * least, 0.003 * least);
        for want in case["expected"]["resting_poses"].as_array().expect("poses") {
            let number = |key: &str| want[key].as_f64().expect("a number");
            if number("probability") < 0.02 {
                continue;
            }
            let file_down = vector(&want["down_file_axes"]);
            let down = if is_y_up {
                DVec3::new(file_down.x, -file_down.z, file_down.y)
            } else {
                file_down
            };
            let got = output["resting_poses"]
                .as_array()
                .expect("poses")
                .iter()
                .min_by(|a, b| angle_deg(a, down).total_cmp(&angle_deg(b, down)))
                .expect("a pose");
            let value = |key: &str| got[key].as_f64().expect("a number");
            hold(
                "direction",
                angle_deg(got, down),
                0.0,
                tolerance("pose_down_deg"),
            );
            hold(
                "probability",
                value("probability"),
                number("probability"),
                number("probability_tolerance"),
            );
            hold(
                "tip angle",
                value("tip_angle_deg"),
                number("tip_angle_deg"),
                tolerance("tip_angle_deg"),
            );
            hold(
                "height",
                value("height_mm"),
                number("height_mm"),
                tolerance("height_mm"),
            );
            let support = number("support_polygon_mm2");
            hold(
                "support",
                value("support_mm2"),
                support,
                tolerance("support_polygon_rel") * support,
            );
        }
    }
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

fn vector(value: &Value) -> DVec3 {
    let at = |i: usize| value[i].as_f64().expect("a number");
    DVec3::new(at(0), at(1), at(2))
}

fn angle_deg(pose: &Value, down: DVec3) -> f64 {
    let at = |i: usize| pose["quaternion"][i].as_f64().expect("a number");
    let turn = DQuat::from_xyzw(at(1), at(2), at(3), at(0));
    (turn * down).angle_between(DVec3::NEG_Z).to_degrees()
}

#[test]
fn every_key_of_the_contract_is_there() {
    let output = measured(&json!({"mesh": "meshes/box.obj", "unit": "mm"}));
    let keys: Vec<&str> = output
        .as_object()
        .expect("an object")
        .keys()
        .map(String::as_str)
        .collect();
    let mut wanted = [
        "triangles",
        "closed",
        "approximate",
        "volume_l",
        "volume_error_l",
        "area_cm2",
        "hull_volume_l",
        "size_mm",
        "box_quaternion",
        "as_laid_mm",
        "mass_kg",
        "density_kg_m3",
        "centre_of_mass_mm",
        "inertia_kg_m2",
        "resting_poses",
        "other_probability",
        "repairs",
        "cautions",
        "basis",
    ];
    let mut sorted = keys;
    sorted.sort_unstable();
    wanted.sort_unstable();
    assert_eq!(sorted, wanted);
}

#[test]
fn an_object_reference_is_read_like_a_path() {
    let path = measured(&json!({"mesh": "meshes/box.obj", "unit": "mm"}));
    let object = measured(&json!({"mesh": {"object": "meshes/box.obj"}, "unit": "mm"}));
    assert_eq!(path, object);
}

#[test]
fn the_thread_count_never_shows() {
    let input = json!({"mesh": "meshes/open_broken.ply", "unit": "mm", "density_kg_m3": 2650});
    let on = |n: usize| {
        rayon::ThreadPoolBuilder::new()
            .num_threads(n)
            .build()
            .expect("a pool")
            .install(|| measured(&input).to_string())
    };
    assert_eq!(on(1), on(3));
}
