//! The server is killed in the middle of work, 200 times at chance moments: nothing
//! that it acknowledged is lost.

use std::{
    collections::BTreeMap,
    io::{BufRead, BufReader, Read, Write},
    net::TcpStream,
    path::Path,
    process::{Child, Command, Stdio},
    sync::mpsc,
    time::Duration,
};

use serde_json::{Value, json};

const KILLS: u64 = 200;
/// The longest that a server is left to work before it is killed, µs.
const LONGEST_US: u64 = 60_000;

struct Server {
    child: Child,
    address: String,
}

impl Server {
    fn start(data: &Path) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_lentic"))
            .args(["serve", "--listen", "127.0.0.1:0", "--log", "off", "--data"])
            .arg(data)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the program starts");
        let mut line = String::new();
        let said = child.stdout.take().expect("it is piped");
        BufReader::new(said)
            .read_line(&mut line)
            .expect("it says where");
        let address = line.trim().rsplit("http://").next().unwrap_or_default();
        assert!(address.contains(':'), "no address in {line:?}");
        Self {
            child,
            address: address.to_owned(),
        }
    }

    /// SIGKILL: the process ends where it is.
    fn kill(mut self) {
        self.child.kill().expect("it runs");
        self.child.wait().expect("it ends");
    }
}

/// Status, headers and body of an answer; nothing when the server went away.
fn ask(
    address: &str,
    method: &str,
    path: &str,
    cookie: &str,
    body: &Value,
) -> Option<(u16, String, Value)> {
    let body = if body.is_null() {
        String::new()
    } else {
        body.to_string()
    };
    let mut stream = TcpStream::connect(address).ok()?;
    let head = format!(
        "{method} {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\nCookie: {cookie}\r\n\
         Content-Type: application/json\r\nContent-Length: {}\r\n\r\n",
        body.len()
    );
    stream.write_all((head + &body).as_bytes()).ok()?;
    let mut text = String::new();
    stream.read_to_string(&mut text).ok()?;
    let (head, body) = text.split_once("\r\n\r\n")?;
    let status = head.split(' ').nth(1)?.parse().ok()?;
    // A body that was cut off is no acknowledgement.
    Some((status, head.to_owned(), serde_json::from_str(body).ok()?))
}

/// A lot's body as it is acknowledged.
fn lot(n: u64) -> Value {
    json!({"kind": "stone", "material": "kept", "grade": "hand", "mass_kg": n as f64 + 0.5, "place": format!("crate {n}")})
}

#[test]
fn nothing_acknowledged_is_lost_when_the_server_is_killed() {
    let folder = tempfile::tempdir().expect("a folder");
    let data = folder.path().join("data");
    let first = Server::start(&data);
    let owner = json!({"name": "Ada", "password": "a long enough password"});
    let (status, head, _) =
        ask(&first.address, "POST", "/api/first-start", "", &owner).expect("answers");
    assert!(status < 300, "{head}");
    let cookie = head
        .lines()
        .find_map(|line| line.strip_prefix("set-cookie: ")?.split(';').next())
        .expect("a cookie")
        .to_owned();
    first.kill();

    let mut kept: BTreeMap<i64, Value> = BTreeMap::new();
    let mut chance = 1_u64;
    let mut n = 0;
    for round in 0..KILLS {
        let server = Server::start(&data);
        let (stop, stopped) = mpsc::channel::<()>();
        let (address, with) = (server.address.clone(), cookie.clone());
        let from = n;
        let writer = std::thread::spawn(move || {
            let mut acknowledged = Vec::new();
            for k in from.. {
                let Some((201 | 200, _, told)) = ask(&address, "POST", "/api/lots", &with, &lot(k))
                else {
                    break;
                };
                acknowledged.push((k, told));
            }
            drop(stop);
            acknowledged
        });
        chance = chance
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        let wait = Duration::from_micros((chance >> 33) % LONGEST_US);
        let early = stopped.recv_timeout(wait);
        assert_eq!(
            early,
            Err(mpsc::RecvTimeoutError::Timeout),
            "the server refused in round {round}"
        );
        server.kill();
        let acknowledged = writer.join().expect("the writer ends");
        n = from + acknowledged.len() as u64 + 1;
        kept.extend(
            acknowledged
                .into_iter()
                .map(|(_, told)| (told["id"].as_i64().expect("an id"), told)),
        );
    }

    let last = Server::start(&data);
    let (_, _, lots) =
        ask(&last.address, "GET", "/api/lots", &cookie, &Value::Null).expect("answers");
    last.kill();
    let found: BTreeMap<i64, &Value> = lots
        .as_array()
        .expect("a list")
        .iter()
        .map(|lot| (lot["id"].as_i64().expect("an id"), lot))
        .collect();
    assert!(
        kept.len() > KILLS as usize,
        "only {} writes were acknowledged",
        kept.len()
    );
    for (id, told) in &kept {
        assert_eq!(found.get(id), Some(&told), "lot {id} was acknowledged");
    }
}
