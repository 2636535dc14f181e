//! A workshop in a folder of the test's own, asked as a client asks.

use std::{path::Path, time::Duration};

use axum::{
    Router,
    body::Body,
    http::{HeaderMap, Request, StatusCode, header},
};
use bytes::Bytes;
use serde_json::{Value, json};
use server::{App, Config, methods::registry, router};
use store::{Place, Store};
use tokio::task::JoinHandle;
use tower::ServiceExt as _;

/// A running workshop.
pub struct Shop {
    pub app: App,
    router: Router,
    cookie: Option<String>,
    work: Vec<JoinHandle<()>>,
    folder: tempfile::TempDir,
}

/// An answer, read to its end.
#[derive(Debug)]
pub struct Answer {
    pub status: StatusCode,
    pub headers: HeaderMap,
    pub bytes: Bytes,
}

impl Answer {
    /// The body as JSON.
    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.bytes)
            .unwrap_or_else(|e| panic!("{} is not JSON: {e}: {:?}", self.status, self.text()))
    }

    pub fn text(&self) -> String {
        String::from_utf8_lossy(&self.bytes).into_owned()
    }

    /// The JSON of an answer that must be good.
    pub fn good(&self) -> Value {
        assert!(self.status.is_success(), "{}: {}", self.status, self.text());
        self.json()
    }

    /// Status, code and path of a refusal in the one shape.
    pub fn refusal(&self) -> (u16, String, String) {
        let error = &self.json()["error"];
        let text = |key: &str| match error[key].as_str() {
            Some(text) => text.to_owned(),
            None => panic!("a refusal without {key}: {}", self.text()),
        };
        assert!(!text("message").is_empty() && !text("hint").is_empty());
        (self.status.as_u16(), text("code"), text("path"))
    }
}

/// The owner of a test's workshop.
pub const OWNER: &str = "Ada";
pub const PASSWORD: &str = "three words in a row";

impl Shop {
    /// An empty workshop that nobody has started.
    pub async fn new() -> Self {
        Self::with(Config::default()).await
    }

    pub async fn with(config: Config) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let app = open(folder.path(), config).await;
        Self {
            router: router(app.clone()),
            work: server::serve::start(&app, false),
            app,
            cookie: None,
            folder,
        }
    }

    /// A workshop whose owner is signed in.
    pub async fn open() -> Self {
        let mut shop = Self::new().await;
        let owner = json!({"name": OWNER, "password": PASSWORD});
        let answer = shop.post("/api/first-start", &owner).await;
        answer.good();
        shop.take_cookie(&answer);
        shop
    }

    pub fn take_cookie(&mut self, answer: &Answer) {
        let set = answer.headers[header::SET_COOKIE].to_str().unwrap();
        self.cookie = set.split(';').next().map(str::to_owned);
    }

    pub fn forget_cookie(&mut self) -> Option<String> {
        self.cookie.take()
    }

    pub fn with_cookie(&mut self, cookie: Option<String>) {
        self.cookie = cookie;
    }

    /// Ends it and starts it anew on the same folder.
    pub async fn restarted(mut self) -> Self {
        self.app.desk.close();
        for one in std::mem::take(&mut self.work) {
            one.await.unwrap();
        }
        self.app.store.close().await;
        let Self { folder, cookie, .. } = self;
        let app = open(folder.path(), Config::default()).await;
        Self {
            router: router(app.clone()),
            work: server::serve::start(&app, false),
            app,
            cookie,
            folder,
        }
    }

    /// Sends a request with the session's cookie.
    pub async fn send(&self, mut request: Request<Body>) -> Answer {
        if let Some(cookie) = &self.cookie {
            request
                .headers_mut()
                .insert(header::COOKIE, cookie.parse().unwrap());
        }
        let response = self.router.clone().oneshot(request).await.unwrap();
        let (status, headers) = (response.status(), response.headers().clone());
        let bytes = axum::body::to_bytes(response.into_body(), usize::MAX)
            .await
            .unwrap();
        Answer {
            status,
            headers,
            bytes,
        }
    }

    /// The answer itself, for a body that never ends.
    pub async fn stream(&self, request: Request<Body>) -> axum::response::Response {
        let mut request = request;
        if let Some(cookie) = &self.cookie {
            request
                .headers_mut()
                .insert(header::COOKIE, cookie.parse().unwrap());
        }
        self.router.clone().oneshot(request).await.unwrap()
    }

    pub async fn get(&self, path: &str) -> Answer {
        self.send(request("GET", path).body(Body::empty()).unwrap())
            .await
    }

    pub async fn delete(&self, path: &str) -> Answer {
        self.send(request("DELETE", path).body(Body::empty()).unwrap())
            .await
    }

    pub async fn json(&self, method: &str, path: &str, body: &Value) -> Answer {
        let request = request(method, path).header(header::CONTENT_TYPE, "application/json");
        self.send(request.body(Body::from(body.to_string())).unwrap())
            .await
    }

    pub async fn post(&self, path: &str, body: &Value) -> Answer {
        self.json("POST", path, body).await
    }

    pub async fn put(&self, path: &str, body: &Value) -> Answer {
        self.json("PUT", path, body).await
    }

    pub async fn patch(&self, path: &str, body: &Value) -> Answer {
        self.json("PATCH", path, body).await
    }

    /// Sends a file and gives its upload's id.
    pub async fn upload(&self, name: &str, bytes: impl Into<Body>) -> i64 {
        let answer = self.try_upload(name, bytes).await;
        answer.good()["id"].as_i64().unwrap()
    }

    pub async fn try_upload(&self, name: &str, bytes: impl Into<Body>) -> Answer {
        let name: String = name.bytes().map(|b| format!("%{b:02x}")).collect();
        let request = request("POST", &format!("/api/uploads?name={name}"));
        self.send(request.body(bytes.into()).unwrap()).await
    }

    /// The end of a job, heard of and not slept for.
    pub async fn ended(&self, job: i64) -> Value {
        let mut live = self.app.store.listen();
        let wait = async {
            loop {
                let now = self.get(&format!("/api/jobs/{job}")).await.good();
                if !matches!(now["state"].as_str(), Some("waiting" | "running")) {
                    return now;
                }
                live.recv().await.unwrap();
            }
        };
        tokio::time::timeout(Duration::from_secs(300), wait)
            .await
            .unwrap_or_else(|_| panic!("job {job} never ended"))
    }

    /// The result of a job that must be done.
    pub async fn done(&self, started: &Answer) -> Value {
        assert_eq!(started.status, StatusCode::ACCEPTED, "{}", started.text());
        let job = self.ended(started.json()["job"].as_i64().unwrap()).await;
        assert_eq!(job["state"], "done", "{job}");
        job["result"].clone()
    }

    /// Takes in a stone block of this size, mm, and gives its tag.
    pub async fn block(&self, size_mm: [f64; 3]) -> String {
        let scan = self.upload("block.obj", block_obj(size_mm)).await;
        let started = self.post("/api/taking-in", &taking_in(scan)).await;
        let result = self.done(&started).await;
        result["tag"].as_str().unwrap().to_owned()
    }
}

async fn open(folder: &Path, config: Config) -> App {
    let place = Place::folder(folder.join("data").to_str().unwrap());
    App::new(Store::open(&place).await.unwrap(), config, registry())
}

pub fn request(method: &str, path: &str) -> axum::http::request::Builder {
    Request::builder()
        .method(method)
        .uri(path)
        .header(header::HOST, "workshop.example")
}

/// A stone that is taken in with nothing special.
pub fn taking_in(scan: i64) -> Value {
    json!({
        "kind": "stone", "material": "slate", "density_kg_m3": 2700, "unit": "mm", "up": "z",
        "mass_kg": null, "place": "shelf A", "state": "ready", "scan": scan, "photographs": [],
    })
}

/// A block as an OBJ in millimetres, its lower corner at the origin.
pub fn block_obj([x, y, z]: [f64; 3]) -> String {
    let mut text = String::new();
    for k in [0.0, z] {
        for (i, j) in [(0.0, 0.0), (x, 0.0), (x, y), (0.0, y)] {
            text.push_str(&format!("v {i} {j} {k}\n"));
        }
    }
    for face in [
        "4 3 2 1", "5 6 7 8", "1 2 6 5", "2 3 7 6", "3 4 8 7", "4 1 5 8",
    ] {
        text.push_str(&format!("f {face}\n"));
    }
    text
}

/// An empty tank to compose in: inside 584 × 344 × 352 mm.
pub fn composition(pieces: &[Value]) -> Value {
    json!({
        "title": "Test",
        "currency": "EUR",
        "tank": {"outside_mm": [600, 360, 360], "glass_mm": 8, "water_line_mm": 320},
        "material": [], "bed": [], "piece": pieces, "plant": [],
    })
}
