//! `lentic plan` as a builder meets it: what stands, what falls and why, what is refused and where.

use std::{
    fs,
    path::{Path, PathBuf},
    process::Command,
};

use serde_json::Value;
use tempfile::TempDir;

/// A folder with three blocks as scans and a way to plan a layout in it.
struct Bench {
    folder: TempDir,
}

struct Answer {
    status: i32,
    stdout: String,
    stderr: String,
}

impl Bench {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder for the test");
        fs::write(folder.path().join("slab.obj"), block(200.0, 140.0, 40.0)).expect("written");
        fs::write(folder.path().join("block.obj"), block(90.0, 70.0, 60.0)).expect("written");
        Self { folder }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn plan(&self, layout: &str) -> Answer {
        self.plan_with(layout, &[])
    }

    fn plan_with(&self, layout: &str, more: &[&str]) -> Answer {
        fs::write(self.path("layout.toml"), layout).expect("written");
        let done = Command::new(env!("CARGO_BIN_EXE_lentic"))
            .current_dir(self.folder.path())
            .args([
                "plan",
                "layout.toml",
                "--out",
                "out",
                "--date",
                "2026-05-04",
            ])
            .args(more)
            .output()
            .expect("the program starts");
        Answer {
            status: done.status.code().unwrap_or(-1),
            stdout: String::from_utf8_lossy(&done.stdout).into_owned(),
            stderr: String::from_utf8_lossy(&done.stderr).into_owned(),
        }
    }
}

impl Answer {
    fn stands(&self) -> &Self {
        assert_eq!(self.status, 0, "{}{}", self.stdout, self.stderr);
        assert!(self.stdout.starts_with("STANDS"), "{}", self.stdout);
        self
    }

    fn falls(&self, words: &[&str]) {
        assert_eq!(self.status, 1, "{}{}", self.stdout, self.stderr);
        assert!(self.stdout.starts_with("DOES NOT STAND"), "{}", self.stdout);
        let verdict = self.stdout.split("\n\n").next().unwrap_or_default();
        for word in words {
            assert!(verdict.contains(word), "{word:?} is not in {verdict}");
        }
    }

    fn refused(&self, words: &[&str]) {
        assert_eq!(self.status, 2, "{}{}", self.stdout, self.stderr);
        assert_eq!(self.stdout, "");
        for word in words {
            assert!(
                self.stderr.contains(word),
                "{word:?} is not in {}",
                self.stderr
            );
        }
    }
}

/// A block as OBJ, its lower left front corner at the origin.
fn block(x: f64, y: f64, z: f64) -> String {
    let mut text = String::new();
    for i in 0..8 {
        let at = |bit: usize, size: f64| if i & bit == 0 { 0.0 } else { size };
        text.push_str(&format!("v {} {} {}\n", at(1, x), at(2, y), at(4, z)));
    }
    for face in [
        "1 3 4 2", "5 6 8 7", "1 2 6 5", "3 7 8 4", "1 5 7 3", "2 4 8 6",
    ] {
        text.push_str(&format!("f {face}\n"));
    }
    text
}

fn layout(pieces: &str) -> String {
    format!(
        "title = \"Blocks\"\ncurrency = \"EUR\"\n\n[tank]\noutside_mm = [500, 300, 300]\nglass_mm = 6\nwater_line_mm = 240\n{pieces}"
    )
}

fn piece(scan: &str, at_mm: [f64; 2], more: &str) -> String {
    format!(
        "\n[[piece]]\nscan = \"{scan}\"\nunit = \"mm\"\ndensity_kg_m3 = 2600\nprice = 12.5\nat_mm = [{}, {}]\n{more}\n",
        at_mm[0], at_mm[1]
    )
}

fn reckoning(bench: &Bench) -> Value {
    let text = fs::read_to_string(bench.path("out/reckoning.json")).expect("written");
    serde_json::from_str(&text).expect("JSON")
}

fn is_written(folder: &Path) -> bool {
    [
        "reckoning.json",
        "layout.glb",
        "setting-out.pdf",
        "build-sheet.pdf",
        "front.png",
        "plan.png",
    ]
    .iter()
    .all(|name| fs::metadata(folder.join(name)).is_ok_and(|m| m.len() > 100))
}

#[test]
fn a_block_on_a_slab_stands_and_is_reckoned() {
    let bench = Bench::new();
    let pieces = piece("slab.obj", [240.0, 140.0], "")
        + &piece("block.obj", [250.0, 145.0], "turn_deg = 30");
    bench.plan(&layout(&pieces)).stands();
    assert!(is_written(&bench.path("out")));
    let reckoning = reckoning(&bench);
    // Closed form: the inside up to the line, less the two blocks.
    let bare_l = 0.488 * 0.288 * 0.240 * 1e3;
    let blocks_l = 0.2 * 0.14 * 0.04 * 1e3 + 0.09 * 0.07 * 0.06 * 1e3;
    let water_l = reckoning["water"]["water"]["value"]
        .as_f64()
        .unwrap_or_default();
    assert!(
        (water_l - (bare_l - blocks_l)).abs() < 1e-3 * water_l,
        "{water_l}"
    );
    let stone_kg = reckoning["weight"]["stone"]["value"]
        .as_f64()
        .unwrap_or_default();
    assert!(
        (stone_kg - 2.6 * blocks_l).abs() < 1e-6 * stone_kg,
        "{stone_kg}"
    );
    assert_eq!(reckoning["price"]["total"]["value"].as_f64(), Some(25.0));
}

#[test]
fn a_block_pushed_off_its_slab_is_named_with_the_reason() {
    let bench = Bench::new();
    let pieces = piece("slab.obj", [240.0, 140.0], "tag = \"S-0007\"")
        + &piece("block.obj", [358.0, 145.0], "tag = \"S-0008\"");
    let answer = bench.plan(&layout(&pieces));
    answer.falls(&["S-0008", "centre of mass"]);
    assert!(
        is_written(&bench.path("out")),
        "the files are written all the same"
    );
}

#[test]
fn a_block_let_go_in_the_air_is_named() {
    let bench = Bench::new();
    bench
        .plan(&layout(&piece(
            "block.obj",
            [240.0, 140.0],
            "tag = \"S-0003\"\nlift_mm = 60",
        )))
        .falls(&["S-0003", "nothing"]);
}

#[test]
fn wood_that_floats_is_named_with_its_ballast() {
    let bench = Bench::new();
    let wood = piece(
        "block.obj",
        [240.0, 140.0],
        "kind = \"wood\"\ntag = \"W-0002\"",
    )
    .replace("2600", "700");
    bench.plan(&layout(&wood)).falls(&["W-0002", "float"]);
}

#[test]
fn the_same_file_gives_the_same_bytes() {
    let bench = Bench::new();
    let pieces = piece("slab.obj", [240.0, 140.0], "") + &piece("block.obj", [250.0, 145.0], "");
    let read = |name: &str| fs::read(bench.path("out").join(name)).expect("written");
    bench.plan(&layout(&pieces)).stands();
    let first: Vec<Vec<u8>> = [
        "reckoning.json",
        "setting-out.pdf",
        "front.png",
        "layout.glb",
    ]
    .iter()
    .map(|n| read(n))
    .collect();
    bench.plan(&layout(&pieces)).stands();
    let again: Vec<Vec<u8>> = [
        "reckoning.json",
        "setting-out.pdf",
        "front.png",
        "layout.glb",
    ]
    .iter()
    .map(|n| read(n))
    .collect();
    assert!(first == again);
}

#[test]
fn lengths_may_be_written_in_inches() {
    let bench = Bench::new();
    let text = layout(&piece("block.obj", [240.0, 140.0], ""))
        .replace("glass_mm = 6", "glass = \"1/4 in\"")
        .replace(
            "outside_mm = [500, 300, 300]",
            "outside = [\"20 in\", \"30 cm\", \"1 ft\"]",
        );
    bench
        .plan_with(&text, &["--units", "us", "--paper", "letter"])
        .stands();
}

#[test]
fn faults_of_the_file_name_the_line_and_what_to_do() {
    let bench = Bench::new();
    let good = layout(&piece("block.obj", [240.0, 140.0], ""));
    let line_of = |text: &str, words: &str| {
        let line = text
            .lines()
            .position(|l| l.contains(words))
            .expect("the words stand in the text");
        format!("layout.toml:{}", line + 1)
    };
    for (from, to) in [
        ("glass_mm", "glas_mm"),
        ("density_kg_m3 = 2600", "density_kg_m3 = 0"),
        ("water_line_mm = 240", "water_line_mm = 9000"),
        ("price = 12.5", "price = \"dear\""),
        ("unit = \"mm\"", "unit = \"ell\""),
        ("at_mm = [240, 140]", "at = [240, 140]"),
        ("at_mm = [240, 140]", "at_mm = [240]"),
        ("at_mm = [240, 140]", "at_mm = [240, 140]\npose = 23"),
    ] {
        let text = good.replace(from, to);
        let fault = to.lines().last().unwrap_or(to);
        bench.plan(&text).refused(&[&line_of(&text, fault), "hint"]);
    }
    bench
        .plan(&good.replace("[tank]", "[tank"))
        .refused(&["layout.toml:4"]);
}

#[test]
fn faults_of_a_scan_name_the_piece_and_what_to_do() {
    let bench = Bench::new();
    let good = layout(&piece("block.obj", [240.0, 140.0], ""));
    let scan_line = "layout.toml:10";
    bench
        .plan(&good.replace("block.obj", "none.obj"))
        .refused(&[scan_line, "none.obj"]);
    bench
        .plan(&good.replace("unit = \"mm\"\n", ""))
        .refused(&["layout.toml:9", "unit"]);
    let whole = block(90.0, 70.0, 60.0);
    fs::write(bench.path("cut.obj"), &whole[..whole.len() * 2 / 3]).expect("written");
    bench
        .plan(&good.replace("block.obj", "cut.obj"))
        .refused(&[scan_line, "cut.obj"]);
    fs::write(bench.path("noise.ply"), b"ply\nformat binary_little_endian 1.0\nelement vertex 4000000000\nproperty float x\nproperty float y\nproperty float z\nend_header\nabc").expect("written");
    bench
        .plan(&good.replace("block.obj", "noise.ply"))
        .refused(&[scan_line, "noise.ply"]);
}

#[test]
fn a_scan_in_the_wrong_unit_is_doubted() {
    let bench = Bench::new();
    let answer = bench.plan(
        &layout(&piece("block.obj", [240.0, 140.0], "")).replace("unit = \"mm\"", "unit = \"m\""),
    );
    let said = (answer.stdout + &answer.stderr).to_lowercase();
    assert!(answer.status != 0 && said.contains("unit"), "{said}");
}

#[test]
fn pieces_that_can_not_be_where_they_are_put_are_named() {
    let bench = Bench::new();
    bench
        .plan(&layout(&piece(
            "slab.obj",
            [80.0, 140.0],
            "tag = \"S-0004\"",
        )))
        .falls(&["S-0004", "glass"]);
    let upright = "quaternion = [0.7071067811865476, 0, 0.7071067811865476, 0]\ntag = \"S-0005\"";
    let answer = bench.plan(&layout(&piece("slab.obj", [240.0, 140.0], upright)));
    assert!(answer.status < 2, "{}", answer.stderr);
}

#[test]
fn json_is_printed_on_request() {
    let bench = Bench::new();
    let good = layout(&piece("block.obj", [240.0, 140.0], ""));
    let answer = bench.plan_with(&good, &["--format", "json"]);
    let printed: Value = serde_json::from_str(&answer.stdout).expect("JSON");
    assert_eq!(printed["stands_as_put"], Value::Bool(true));
    let refused = bench.plan_with(&good.replace("glass_mm", "glas_mm"), &["--format", "json"]);
    let error: Value =
        serde_json::from_str(refused.stderr.lines().last().unwrap_or_default()).expect("JSON");
    assert_eq!(error["error"]["path"], "/tank/glas_mm");
    assert_eq!(error["error"]["line"], 6);
}
