//! `scape.ground` as a user runs it: its own table of checks, and input that nobody would write.

use layout::methods::register;
use method::{CaseFile, Registry, files::NoFiles};
use proptest::prelude::*;
use serde_json::{Value, json};

#[test]
fn the_table_of_checks_holds() {
    let registry = register(Registry::default());
    let files = registry
        .get("scape.ground")
        .expect("registered")
        .case_files()
        .expect("well formed");
    let failures: Vec<String> = files
        .iter()
        .flat_map(|file: &CaseFile| file.failures(&registry, &NoFiles))
        .collect();
    assert!(failures.is_empty(), "{}", failures.join("\n"));
}

/// Numbers that a hand may leave in a file, and some that no hand would.
fn number() -> impl Strategy<Value = Value> {
    prop_oneof![
        (-50.0_f64..700.0).prop_map(Value::from),
        prop::sample::select(vec![0.0, -0.0, 1e-300, 1e300, -1e9, 5e-324, 300.0])
            .prop_map(Value::from),
        Just(Value::Null),
        Just(json!("12")),
    ]
}

fn sane(low: f64, high: f64) -> impl Strategy<Value = Value> {
    prop_oneof![20 => (low..high).prop_map(Value::from), 1 => number()]
}

prop_compose! {
    fn bed()(
        corners in prop::collection::vec((sane(0.0, 200.0), sane(0.0, 100.0)), 0..7),
        points in prop::collection::vec((sane(0.0, 200.0), sane(0.0, 100.0), sane(-20.0, 80.0)), 0..6),
        is_all in any::<bool>(),
        by in prop::sample::select(vec!["thickness", "top"]),
    ) -> Value {
        json!({
            "material": "m",
            "region": if is_all { json!("all") } else { json!(corners) },
            "by": by,
            "points": points
                .into_iter()
                .map(|(x, y, v)| json!({"x_mm": x, "y_mm": y, "value_mm": v}))
                .collect::<Vec<_>>(),
        })
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 256,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Whatever is asked, the answer is figures or a refusal that points into the input.
    #[test]
    fn nonsense_gives_a_refusal_with_a_pointer_and_never_a_panic(
        beds in prop::collection::vec(bed(), 0..3),
        cell in sane(6.0, 40.0),
        depth in sane(0.0, 100.0),
        bulk in sane(500.0, 2000.0),
        box_mm in [sane(1.0, 90.0), sane(1.0, 90.0), sane(1.0, 90.0)],
        centre in [sane(-20.0, 220.0), sane(-20.0, 120.0), sane(-20.0, 120.0)],
        q in prop::sample::select(vec![[1.0, 0.0, 0.0, 0.0], [0.5, 0.5, 0.5, 0.5], [0.8, 0.0, 0.6, 0.0], [0.0; 4]]),
    ) {
        let input = json!({
            "tank": {"length_mm": 200, "width_mm": 100, "height_mm": 100},
            "materials": [{"name": "m", "bulk_density_kg_m3": bulk, "angle_of_repose_deg": 33}],
            "beds": beds,
            "pieces": [{"id": "a", "box_mm": box_mm, "pose": {"centre_mm": centre, "quaternion": q}}],
            "water_depth_mm": depth,
            "cell_mm": cell,
        });
        let registry = register(Registry::default());
        let method = registry.get("scape.ground").expect("registered");
        match method.run_json(&input, &NoFiles) {
            Ok(output) => {
                let free = output["free_water_l"].as_f64().expect("a number");
                prop_assert!(free > -1e-9, "{free} in {input}");
            }
            Err(error) => {
                prop_assert!(error.path.is_empty() || input.pointer(&error.path).is_some(), "{error:?}");
                prop_assert!(!error.hint.is_empty());
            }
        }
    }
}
