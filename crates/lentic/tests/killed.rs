//! The server is killed in the middle of work, 200 times: nothing acknowledged is lost.
//!
//! SIGKILL gives a process no moment to finish anything. A client writes all the while
//! and notes what was acknowledged; whatever was must be there when the data are opened
//! again. The moments are drawn from a seed, as spans between a few and some tens of
//! acknowledgements, so that the kill falls into a write. The test is bounded in time.

#![cfg(unix)]
#![expect(
    clippy::unwrap_used,
    reason = "a test stops at the first thing that fails"
)]

use std::{
    io::{BufRead, BufReader, Read, Write},
    net::{SocketAddr, TcpStream},
    path::Path,
    process::{Child, Command, Stdio},
    sync::mpsc,
    time::{Duration, Instant},
};

use serde_json::{Value, json};

/// How often it is killed.
const KILLS: usize = 200;
/// Time after which fewer kills are enough: a slow machine proves as much with fewer.
const BOUND: Duration = Duration::from_secs(60);
/// Kills without which the test says nothing.
const LEAST: usize = 20;

/// The running program.
struct Server {
    child: Child,
    address: SocketAddr,
}

impl Server {
    fn start(data: &Path) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_lentic"))
            .args([
                "serve",
                "--listen",
                "127.0.0.1:0",
                "--log",
                "error",
                "--data",
            ])
            .arg(data)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        let out = child.stdout.take().unwrap();
        BufReader::new(out).read_line(&mut line).unwrap();
        let address = line.trim().rsplit("http://").next().unwrap();
        let address = address
            .parse()
            .unwrap_or_else(|_| panic!("no address in {line:?}"));
        Self { child, address }
    }

    fn kill(mut self) {
        // `Child::kill` is SIGKILL on Unix.
        self.child.kill().unwrap();
        self.child.wait().unwrap();
    }
}

/// One connection of a client.
struct Client {
    stream: BufReader<TcpStream>,
    cookie: Option<String>,
}

impl Client {
    fn new(address: SocketAddr, cookie: Option<String>) -> std::io::Result<Self> {
        let stream = TcpStream::connect(address)?;
        stream.set_nodelay(true)?;
        Ok(Self {
            stream: BufReader::new(stream),
            cookie,
        })
    }

    /// Status and body of an answer that came in whole.
    fn ask(&mut self, method: &str, path: &str, body: &Value) -> std::io::Result<(u16, Value)> {
        let body = body.to_string();
        let cookie = self
            .cookie
            .as_ref()
            .map_or_else(String::new, |c| format!("Cookie: {c}\r\n"));
        let request = format!(
            "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Type: application/json\r\n{cookie}Content-Length: {}\r\n\r\n{body}",
            body.len()
        );
        self.stream.get_mut().write_all(request.as_bytes())?;
        let mut line = String::new();
        self.stream.read_line(&mut line)?;
        let cut_off = || std::io::Error::from(std::io::ErrorKind::UnexpectedEof);
        let status = line
            .split(' ')
            .nth(1)
            .and_then(|s| s.parse().ok())
            .ok_or_else(cut_off)?;
        let mut length = 0;
        loop {
            let mut header = String::new();
            if self.stream.read_line(&mut header)? == 0 {
                return Err(cut_off());
            }
            let header = header.trim();
            if header.is_empty() {
                break;
            }
            let (name, value) = header.split_once(": ").unwrap_or((header, ""));
            match name.to_ascii_lowercase().as_str() {
                "content-length" => length = value.parse().map_err(|_| cut_off())?,
                "set-cookie" => self.cookie = value.split(';').next().map(str::to_owned),
                _ => {}
            }
        }
        let mut bytes = vec![0; length];
        self.stream.read_exact(&mut bytes)?;
        serde_json::from_slice(&bytes)
            .map(|body| (status, body))
            .map_err(|_| cut_off())
    }
}

/// What was acknowledged.
#[derive(Default)]
struct Known {
    /// Lots by their id with their mass.
    lots: Vec<(i64, f64)>,
    /// The layout's version and how many plants it had.
    layout: Option<(i64, usize)>,
}

/// A number from a seed (Vigna's splitmix64).
fn draw(seed: &mut u64) -> u64 {
    *seed = seed.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *seed;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

fn composition(n_plants: usize) -> Value {
    let plant = json!({"name": "moss", "form": "moss", "at_mm": [50, 50], "height_mm": 20, "spread_mm": 20, "colour": "#3a5f3a"});
    json!({
        "title": "Killed",
        "tank": {"outside_mm": [600, 360, 360], "glass_mm": 8, "water_line_mm": 320},
        "material": [], "bed": [], "piece": [], "plant": vec![plant; n_plants],
    })
}

/// Writes until the server is gone; `told` hears of every acknowledgement.
fn write(client: &mut Client, layout: i64, known: &mut Known, told: &mpsc::Sender<()>) {
    loop {
        let mass = 1.0 + known.lots.len() as f64;
        let lot = json!({"kind": "stone", "material": "slate", "mass_kg": mass});
        match client.ask("POST", "/api/lots", &lot) {
            Ok((201, body)) => known.lots.push((body["id"].as_i64().unwrap(), mass)),
            Ok(other) => panic!("{other:?}"),
            Err(_) => return,
        }
        // Nobody listening any more is no trouble.
        let _ = told.send(());
        let (seen, n_plants) = known.layout.unwrap();
        let n_plants = n_plants % 40 + 1;
        let body = json!({"version": seen, "label": "plant", "composition": composition(n_plants)});
        match client.ask("PUT", &format!("/api/layouts/{layout}/composition"), &body) {
            Ok((200, body)) => known.layout = Some((body["version"].as_i64().unwrap(), n_plants)),
            Ok(other) => panic!("{other:?}"),
            Err(_) => return,
        }
        let _ = told.send(());
    }
}

/// Holds what is there against what was acknowledged, and takes up what came through unheard.
fn check(client: &mut Client, layout: i64, known: &mut Known) {
    let (_, lots) = client.ask("GET", "/api/lots", &json!({})).unwrap();
    let there: Vec<(i64, f64)> = lots
        .as_array()
        .unwrap()
        .iter()
        .map(|lot| {
            (
                lot["id"].as_i64().unwrap(),
                lot["mass_kg"].as_f64().unwrap(),
            )
        })
        .collect();
    for lot in &known.lots {
        assert!(
            there.contains(lot),
            "lot {lot:?} was acknowledged and is lost"
        );
    }
    // A write whose answer was cut off may be there or not.
    assert!(there.len() <= known.lots.len() + 1);
    known.lots = there;
    let (_, now) = client
        .ask("GET", &format!("/api/layouts/{layout}"), &json!({}))
        .unwrap();
    let version = now["version"].as_i64().unwrap();
    let n_plants = now["composition"]["plant"].as_array().unwrap().len();
    let (seen, n_seen) = known.layout.unwrap();
    assert!(
        version == seen || version == seen + 1,
        "{version} after {seen}"
    );
    let wanted = if version == seen {
        n_seen
    } else {
        n_seen % 40 + 1
    };
    assert_eq!(n_plants, wanted, "the layout lost a step");
    known.layout = Some((version, n_plants));
}

#[test]
fn what_was_acknowledged_outlives_two_hundred_kills() {
    let folder = tempfile::tempdir().unwrap();
    let data = folder.path().join("data");
    let mut seed = 20_260_504;
    let mut known = Known::default();
    let mut server = Server::start(&data);
    let mut client = Client::new(server.address, None).unwrap();
    let owner = json!({"name": "Ada", "password": "three words in a row"});
    assert_eq!(
        client.ask("POST", "/api/first-start", &owner).unwrap().0,
        200
    );
    let (status, begun) = client
        .ask("POST", "/api/layouts", &json!({"title": "Killed"}))
        .unwrap();
    assert_eq!(status, 201, "{begun}");
    let layout = begun["id"].as_i64().unwrap();
    known.layout = Some((begun["version"].as_i64().unwrap(), 0));
    let began = Instant::now();
    let mut n_kills = 0;
    while n_kills < KILLS && began.elapsed() < BOUND {
        // After so many acknowledgements, in the middle of the next.
        let after = 1 + draw(&mut seed) % 12;
        let (told, hear) = mpsc::channel();
        let cookie = client.cookie.clone();
        let mut writer = client;
        std::thread::scope(|scope| {
            let known = &mut known;
            let writing = scope.spawn(move || write(&mut writer, layout, known, &told));
            for _ in 0..after {
                hear.recv().unwrap();
            }
            // Some part of a write further on: a write takes a few milliseconds.
            let (from, span) = (
                Instant::now(),
                Duration::from_micros(draw(&mut seed) % 6000),
            );
            while from.elapsed() < span {
                std::hint::spin_loop();
            }
            server.kill();
            writing.join().unwrap();
        });
        n_kills += 1;
        server = Server::start(&data);
        client = Client::new(server.address, cookie).unwrap();
        check(&mut client, layout, &mut known);
    }
    server.kill();
    assert!(n_kills >= LEAST, "only {n_kills} kills in {BOUND:?}");
    assert!(known.lots.len() > n_kills, "hardly anything was written");
    println!(
        "{n_kills} kills, {} lots, layout at version {}",
        known.lots.len(),
        known.layout.unwrap().0
    );
}
