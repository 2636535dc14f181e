//! `lentic method run` as a program meets it: standard output, standard error, exit status.

use std::{
    io::Write,
    process::{Command, Stdio},
};

use serde_json::{Value, json};

struct Answer {
    status: Option<i32>,
    stdout: String,
    stderr: String,
}

impl Answer {
    fn refused_at(&self) -> String {
        assert_eq!(self.status, Some(2), "{}{}", self.stdout, self.stderr);
        assert_eq!(
            self.stdout, "",
            "a refusal prints nothing to standard output"
        );
        let last = self.stderr.lines().last().expect("an error is printed");
        let error: Value = serde_json::from_str(last).expect("the last line is JSON");
        for key in ["code", "path", "message", "hint"] {
            assert!(error["error"][key].is_string(), "{last} has no {key}");
        }
        error["error"]["path"]
            .as_str()
            .unwrap_or_default()
            .to_owned()
    }
}

fn run(method: &str, input: &str) -> Answer {
    let mut child = Command::new(env!("CARGO_BIN_EXE_lentic"))
        .args(["method", "run", method])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program starts");
    // A program that refuses early may close its input before all is written.
    let _ = child
        .stdin
        .take()
        .expect("standard input was piped")
        .write_all(input.as_bytes());
    let done = child.wait_with_output().expect("the program ends");
    Answer {
        status: done.status.code(),
        stdout: String::from_utf8_lossy(&done.stdout).into_owned(),
        stderr: String::from_utf8_lossy(&done.stderr).into_owned(),
    }
}

fn block_in_tank(change: impl Fn(&mut Value)) -> String {
    let mut input = json!({
        "tank": {"length_mm": 600, "width_mm": 300, "height_mm": 300},
        "pieces": [{
            "id": "a",
            "box_mm": [100, 80, 60],
            "density_kg_m3": 2600,
            "pose": {"centre_mm": [300, 150, 30], "quaternion": [1, 0, 0, 0]}
        }]
    });
    change(&mut input);
    input.to_string()
}

#[test]
fn a_block_on_the_base_stays_and_weighs_what_it_weighs() {
    let answer = run("scape.settle", &block_in_tank(|_| {}));
    assert_eq!(answer.status, Some(0), "{}", answer.stderr);
    let output: Value = serde_json::from_str(&answer.stdout).expect("JSON comes out");
    let piece = &output["pieces"][0];
    assert_eq!(piece["at_rest"], json!(true));
    assert!(piece["moved_mm"].as_f64().is_some_and(|moved| moved < 0.3));
    let mass = output["solid_mass_kg"].as_f64().unwrap_or_default();
    assert!((mass - 1.248).abs() < 1e-9);
}

#[test]
fn refusals_point_at_the_value() {
    let at = |change: &dyn Fn(&mut Value)| run("scape.settle", &block_in_tank(change)).refused_at();
    assert_eq!(
        at(&|v| v["pieces"][0]["density_kg_m3"] = json!(0)),
        "/pieces/0/density_kg_m3"
    );
    assert_eq!(
        at(&|v| v["pieces"][0]["colour"] = json!("grey")),
        "/pieces/0/colour"
    );
    assert_eq!(
        at(&|v| v["tank"]["length_mm"] = json!("600")),
        "/tank/length_mm"
    );
    assert_eq!(
        run(
            "solid.measure",
            r#"{"mesh": "no/such/file.ply", "unit": "mm"}"#
        )
        .refused_at(),
        "/mesh"
    );
    assert_eq!(run("solid.measure", "{").refused_at(), "");
    assert_eq!(
        run(
            "solid.measure",
            r#"{"mesh": "a.ply", "unit": "mm", "mass_kg": 1e999}"#
        )
        .refused_at(),
        ""
    );
    assert_eq!(run("no.such", "{}").refused_at(), "");
}

#[test]
fn a_scan_far_from_its_origin_falls_to_the_base_and_no_further() {
    let folder = tempfile::tempdir().expect("a folder for the test");
    let path = folder.path().join("far.obj");
    let mut scan = String::new();
    for i in 0..8 {
        let at = |bit: i32, low: f64, size: f64| if i & bit == 0 { low } else { low + size };
        scan.push_str(&format!(
            "v {} {} {}\n",
            at(1, -400.0, 100.0),
            at(2, 900.0, 80.0),
            at(4, 600.0, 60.0)
        ));
    }
    for face in [
        "1 3 4 2", "5 6 8 7", "1 2 6 5", "3 7 8 4", "1 5 7 3", "2 4 8 6",
    ] {
        scan.push_str(&format!("f {face}\n"));
    }
    std::fs::write(&path, scan).expect("written");
    let input = block_in_tank(|v| {
        let piece = &mut v["pieces"][0];
        piece["box_mm"] = Value::Null;
        piece["mesh"] = json!(path);
        piece["unit"] = json!("mm");
        piece["pose"]["centre_mm"] = json!([300, 150, 45]);
    });
    let answer = run("scape.settle", &input);
    assert_eq!(answer.status, Some(0), "{}", answer.stderr);
    let output: Value = serde_json::from_str(&answer.stdout).expect("JSON comes out");
    let height = output["pieces"][0]["pose"]["centre_mm"][2]
        .as_f64()
        .unwrap_or_default();
    assert!((height - 30.0).abs() < 0.1, "{height}");
}
