//! A yard of 50,000 pieces: how long it takes to start, to list and to search, and in
//! how much memory.
//!
//! The yard is made once, of some forms that are grown, and kept beside the build; the
//! measuring runs in a process of its own, so that making it is not in its memory.

#![expect(
    clippy::unwrap_used,
    reason = "a benchmark stops at the first thing that fails"
)]

use std::{
    path::{Path, PathBuf},
    process::Command,
    time::Instant,
};

use axum::{
    Router,
    body::{Body, to_bytes},
    http::{Request, header},
};
use rayon::prelude::*;
use serde_json::{Value, json};
use server::{
    App, Config, clock, methods, router, serve,
    taking_in::{
        measures::{Measures, front_mm},
        take,
    },
};
use solid::{
    grow::{Form, Recipe, grow},
    measure::MeasureOptions,
};
use store::{By, MassCertainty, Measured, PieceState, Place, Store, TakeIn};
use tower::ServiceExt as _;
use workshop::{PieceKind, fit::FitForm};

const N_PIECES: usize = 50_000;
const N_FORMS: u64 = 300;
/// Few, as only their outlines and boxes are searched.
const N_TRIANGLES: usize = 6000;
/// Rows that are written at once.
const BATCH: usize = 5_000;
/// Searches whose times are ranked.
const N_SEARCHES: usize = 300;
const MEASURING: &str = "LENTIC_BENCH_DATA";

fn main() {
    let runtime = tokio::runtime::Runtime::new().unwrap();
    match std::env::var_os(MEASURING) {
        Some(data) => runtime.block_on(measure(Path::new(&data))),
        None => {
            let data = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("fifty-thousand");
            if !data.join("made").is_file() {
                runtime.block_on(make(&data));
            }
            let done = Command::new(std::env::current_exe().unwrap())
                .env(MEASURING, &data)
                .status()
                .unwrap();
            assert!(done.success());
        }
    }
}

async fn open(data: &Path) -> Store {
    let place = Place::folder(data.join("data").to_str().unwrap());
    Store::open(&place).await.unwrap()
}

/// A grown form as it is taken in.
fn form(seed: u64) -> TakeIn {
    const FORMS: [Form; 4] = [Form::Rounded, Form::Fissured, Form::Bedded, Form::Columnar];
    let long_m = 0.05 + 0.0012 * (seed * 37 % N_FORMS) as f64;
    let recipe = Recipe::new(FORMS[seed as usize % FORMS.len()], seed, long_m).unwrap();
    let mesh = grow(&recipe.with_triangles(N_TRIANGLES));
    let known = MeasureOptions::default();
    let taken = take::measured(mesh, "grown", &known, Vec::new()).unwrap();
    let measure = &taken.measure;
    TakeIn {
        kind: PieceKind::Stone,
        tag: None,
        material: format!("stone {}", seed % 7),
        state: PieceState::Ready,
        place: format!("shelf {}", seed % 11),
        density_kg_m3: 2650.0,
        friction: 0.6,
        mass_kg: 2650.0 * measure.moments.volume_m3,
        mass_certainty: MassCertainty::Measured,
        price: None,
        notes: String::new(),
        measured: Measured {
            scan: None,
            shape: None,
            picture: None,
            size_mm: (measure.least_box.size_m * 1e3).to_array(),
            as_laid_mm: (measure.as_laid_m * 1e3).to_array(),
            colour: "#807c76".to_owned(),
            outline_mm: front_mm(measure),
            measure: json!(Measures::of(measure)),
            fit: FitForm::of(measure).bytes().to_vec(),
        },
        photographs: Vec::new(),
    }
}

async fn make(data: &Path) {
    println!("making {N_PIECES} pieces, once");
    let _ = std::fs::remove_dir_all(data);
    std::fs::create_dir_all(data).unwrap();
    let forms: Vec<TakeIn> = (0..N_FORMS).into_par_iter().map(form).collect();
    let store = open(data).await;
    for from in (0..N_PIECES).step_by(BATCH) {
        let pieces = (from..from + BATCH).map(|k| forms[k % forms.len()].clone());
        let by = By::new("bench", clock::now_ms());
        store.take_in_all(&by, pieces.collect()).await.unwrap();
    }
    store.close().await;
    std::fs::write(data.join("made"), "").unwrap();
}

async fn ask(router: &Router, method: &str, path: &str, body: &Value) -> (f64, Value) {
    let request = Request::builder()
        .method(method)
        .uri(path)
        .header(header::HOST, "localhost")
        .header(header::CONTENT_TYPE, "application/json")
        .body(Body::from(body.to_string()))
        .unwrap();
    let began = Instant::now();
    let answer = router.clone().oneshot(request).await.unwrap();
    let bytes = to_bytes(answer.into_body(), usize::MAX).await.unwrap();
    let took_ms = began.elapsed().as_secs_f64() * 1e3;
    (took_ms, serde_json::from_slice(&bytes).unwrap())
}

async fn measure(data: &Path) {
    let began = Instant::now();
    let store = open(data).await;
    let app = App::new(store, Config { demo: true }, methods::registry());
    let _work = serve::start(&app, false);
    let router = router(app.clone());
    let (_, _) = ask(&router, "GET", "/api/pieces?limit=200", &Value::Null).await;
    println!("first page after {:.2} s", began.elapsed().as_secs_f64());
    let gap = |k: usize| {
        let side = 60.0 + (k * 37 % 200) as f64;
        json!({"box_mm": {"width": side, "depth": side, "height": 0.6 * side}})
    };
    while ask(&router, "POST", "/api/fit", &gap(0)).await.1["n_considered"] != N_PIECES {
        tokio::task::yield_now().await;
    }
    println!(
        "fit search knows all after {:.2} s",
        began.elapsed().as_secs_f64()
    );
    memory();
    let outline = |k: usize| {
        let (w, h) = (80.0 + (k * 37 % 200) as f64, 60.0 + (k * 53 % 120) as f64);
        json!({"outline_mm": [[10, 5], [10.0 + w, 0], [w, h], [0.5 * w, 1.2 * h], [0, h]], "depth_mm": 200})
    };
    for (what, gap) in [
        ("box", &gap as &dyn Fn(usize) -> Value),
        ("outline", &outline),
    ] {
        let mut took = Vec::new();
        for k in 0..N_SEARCHES {
            took.push(ask(&router, "POST", "/api/fit", &gap(k)).await.0);
        }
        took.sort_by(f64::total_cmp);
        let at = |share: f64| took[(share * (took.len() - 1) as f64) as usize];
        println!(
            "fit search by {what}: median {:.1} ms, 99 % {:.1} ms",
            at(0.5),
            at(0.99)
        );
    }
    for path in [
        "/api/pieces?limit=200",
        "/api/pieces?limit=5000",
        "/api/pieces?text=shelf+3&sort=long&limit=200",
        "/api/today",
        "/api/pieces/S-25000",
    ] {
        let (took_ms, _) = ask(&router, "GET", path, &Value::Null).await;
        println!("GET {path}: {took_ms:.0} ms");
    }
    memory();
}

fn memory() {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = |name: &str| {
        let found = status.lines().find(|l| l.starts_with(name));
        found.unwrap_or_default().to_owned()
    };
    println!("{}, {}", line("VmRSS"), line("VmHWM"));
}
