//! Builds the web client into the program, so that one file is the whole workshop.
//!
//! `LENTIC_WEB` names a ready build instead; without a `web` folder a plain page is put in.

use std::{
    env, fs,
    path::{Path, PathBuf},
    process::Command,
};

fn main() {
    if let Err(reason) = run() {
        println!("cargo::error=the web client can't be built: {reason}");
    }
}

fn run() -> Result<(), String> {
    println!("cargo::rerun-if-env-changed=LENTIC_WEB");
    if let Ok(ready) = env::var("LENTIC_WEB") {
        let page = Path::new(&ready).join("index.html");
        println!("cargo::rerun-if-changed={ready}");
        return if page.is_file() {
            Ok(())
        } else {
            Err(format!("LENTIC_WEB names {ready}, which has no index.html"))
        };
    }
    let here = variable("CARGO_MANIFEST_DIR")?;
    let web = here.join("../../web");
    let out = variable("OUT_DIR")?.join("web");
    fs::create_dir_all(&out).map_err(|error| error.to_string())?;
    if web.join("package.json").is_file() {
        build(&web, &out)?;
    } else {
        println!("cargo::rerun-if-changed={}", here.join("../..").display());
        let page = here.join("src/web/absent.html");
        fs::copy(page, out.join("index.html")).map_err(|error| error.to_string())?;
    }
    println!("cargo::rustc-env=LENTIC_WEB={}", out.display());
    Ok(())
}

fn variable(name: &str) -> Result<PathBuf, String> {
    env::var_os(name)
        .map(PathBuf::from)
        .ok_or_else(|| format!("cargo gives no {name}"))
}

fn build(web: &Path, out: &Path) -> Result<(), String> {
    const WATCHED: &[&str] = &[
        "src",
        "public",
        "index.html",
        "package.json",
        "package-lock.json",
        "vite.config.ts",
        "svelte.config.js",
        "tsconfig.json",
        "tsconfig.app.json",
        ".npmrc",
    ];
    for name in WATCHED {
        let path = web.join(name);
        if path.exists() {
            println!("cargo::rerun-if-changed={}", path.display());
        }
    }
    install(web)?;
    npm(
        web,
        &[
            "run",
            "build",
            "--",
            "--outDir",
            &out.display().to_string(),
            "--emptyOutDir",
        ],
    )
}

/// Installs what the client is made of, when its list isn't the one that was installed last.
fn install(web: &Path) -> Result<(), String> {
    let list = fs::read(web.join("package-lock.json")).map_err(|error| error.to_string())?;
    let stamp = web.join("node_modules/.lentic-installed");
    if fs::read(&stamp).is_ok_and(|installed| installed == list) {
        return Ok(());
    }
    npm(web, &["ci", "--no-audit", "--no-fund"])?;
    fs::write(stamp, list).map_err(|error| error.to_string())
}

fn npm(web: &Path, arguments: &[&str]) -> Result<(), String> {
    let program = if cfg!(windows) { "npm.cmd" } else { "npm" };
    let output = Command::new(program)
        .args(arguments)
        .current_dir(web)
        .output()
        .map_err(|error| {
            format!("npm doesn't start ({error}); install Node 20, or set LENTIC_WEB")
        })?;
    if output.status.success() {
        return Ok(());
    }
    let told = String::from_utf8_lossy(&output.stderr);
    let also = String::from_utf8_lossy(&output.stdout);
    let last: Vec<&str> = told.lines().chain(also.lines()).rev().take(20).collect();
    let last: Vec<&str> = last.into_iter().rev().collect();
    Err(format!(
        "npm {} failed: {}",
        arguments.join(" "),
        last.join(" | ")
    ))
}
