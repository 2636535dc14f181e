//! A workshop in a folder of its own, asked as a browser would ask it.

use axum::{
    Router,
    body::{Body, to_bytes},
    http::{Request, StatusCode, header},
};
use serde_json::{Value, json};
use server::{App, Config, methods, router};
use store::{Place, Store};
use tempfile::TempDir;
use tokio::task::JoinHandle;
use tower::ServiceExt;

/// A running workshop.
pub struct Shop {
    router: Router,
    app: App,
    cookie: Option<String>,
    _work: Vec<JoinHandle<()>>,
    _folder: TempDir,
}

/// An answer.
pub struct Answer {
    pub status: StatusCode,
    pub cookie: Option<String>,
    pub body: Vec<u8>,
}

impl Answer {
    /// The body as JSON; null when it is none.
    pub fn json(&self) -> Value {
        serde_json::from_slice(&self.body).unwrap_or_default()
    }

    /// The body of an answer that has to be good.
    pub fn good(self) -> Value {
        let text = String::from_utf8_lossy(&self.body);
        assert!(self.status.is_success(), "{}: {text}", self.status);
        self.json()
    }

    /// Holds a refusal to its status, word and pointer.
    pub fn refused(&self, status: u16, code: &str, path: &str) {
        let error = &self.json()["error"];
        let text = String::from_utf8_lossy(&self.body);
        assert_eq!(self.status, status, "{text}");
        assert_eq!(
            (&error["code"], &error["path"]),
            (&json!(code), &json!(path))
        );
        for words in ["message", "hint"] {
            assert!(
                error[words].as_str().is_some_and(|w| !w.is_empty()),
                "{text}"
            );
        }
    }
}

impl Shop {
    /// A workshop that nobody signs in to.
    pub async fn open() -> Self {
        Self::with(true).await
    }

    /// A workshop before its first start.
    pub async fn locked() -> Self {
        Self::with(false).await
    }

    async fn with(demo: bool) -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let store = Store::open(&Place {
            data: folder.path().join("data").display().to_string(),
            objects: None,
        })
        .await
        .expect("a new store");
        let app = App::new(store, Config { demo }, methods::registry());
        let work = server::serve::start(&app, false);
        Self {
            router: router(app.clone()),
            app,
            cookie: None,
            _work: work,
            _folder: folder,
        }
    }

    /// Keeps a cookie for what is asked next.
    pub fn sign(&mut self, cookie: Option<String>) {
        self.cookie = cookie;
    }

    /// Asks as a page of the workshop does.
    pub async fn ask(&self, method: &str, path: &str, body: Option<Value>) -> Answer {
        let body = body.map(|value| value.to_string().into_bytes());
        self.send(method, path, body, "application/json", "http://localhost")
            .await
    }

    pub async fn get(&self, path: &str) -> Answer {
        self.ask("GET", path, None).await
    }

    pub async fn post(&self, path: &str, body: Value) -> Answer {
        self.ask("POST", path, Some(body)).await
    }

    /// Asks with everything spelt out.
    pub async fn send(
        &self,
        method: &str,
        path: &str,
        body: Option<Vec<u8>>,
        kind: &str,
        origin: &str,
    ) -> Answer {
        let mut request = Request::builder()
            .method(method)
            .uri(path)
            .header(header::HOST, "localhost")
            .header(header::ORIGIN, origin)
            .header(header::CONTENT_TYPE, kind);
        if let Some(cookie) = &self.cookie {
            request = request.header(header::COOKIE, cookie);
        }
        let mut request = request
            .body(Body::from(body.unwrap_or_default()))
            .expect("a request");
        let from: std::net::SocketAddr = ([127, 0, 0, 1], 9).into();
        request
            .extensions_mut()
            .insert(axum::extract::ConnectInfo(from));
        let answer = self.router.clone().oneshot(request).await.expect("answers");
        let status = answer.status();
        let cookie = answer
            .headers()
            .get(header::SET_COOKIE)
            .and_then(|c| c.to_str().ok()?.split(';').next().map(str::to_owned));
        let body = to_bytes(answer.into_body(), usize::MAX)
            .await
            .expect("a body");
        Answer {
            status,
            cookie,
            body: body.to_vec(),
        }
    }

    /// Uploads a file and gives its number.
    pub async fn upload(&self, name: &str, bytes: &[u8]) -> i64 {
        let path = format!("/api/uploads?name={name}");
        let answer = self
            .send(
                "POST",
                &path,
                Some(bytes.to_vec()),
                "application/octet-stream",
                "http://localhost",
            )
            .await;
        answer.good()["id"].as_i64().expect("a number")
    }

    /// What a job came to: each change of its state is an event that is waited for.
    pub async fn job(&self, id: i64) -> Value {
        let mut heard = self.app.store.listen();
        loop {
            let job = self.get(&format!("/api/jobs/{id}")).await.good();
            if !["waiting", "running"].contains(&job["state"].as_str().unwrap_or_default()) {
                return job;
            }
            // A listener that fell behind looks again as well.
            let _ = heard.recv().await;
        }
    }

    /// Takes in a box of stone, its sides in mm, and gives its tag.
    pub async fn stone(&self, sides_mm: [f64; 3]) -> String {
        let scan = self.upload("box.obj", cuboid(sides_mm).as_bytes()).await;
        let asked = json!({"kind": "stone", "material": "test stone", "density_kg_m3": 2600.0,
            "unit": "mm", "place": "shelf", "state": "ready", "scan": scan, "photographs": []});
        let job = self.post("/api/taking-in", asked).await.good()["job"]
            .as_i64()
            .expect("a job");
        let job = self.job(job).await;
        job["result"]["tag"]
            .as_str()
            .unwrap_or_else(|| panic!("{job}"))
            .to_owned()
    }
}

/// A box as OBJ, about its middle.
pub fn cuboid([x, y, z]: [f64; 3]) -> String {
    let mut text = String::new();
    for i in 0..8 {
        let side = |bit: usize, size: f64| {
            if i & bit == 0 {
                -0.5 * size
            } else {
                0.5 * size
            }
        };
        text += &format!("v {} {} {}\n", side(1, x), side(2, y), side(4, z));
    }
    text + "f 1 3 4 2\nf 5 6 8 7\nf 1 2 6 5\nf 3 7 8 4\nf 1 5 7 3\nf 2 4 8 6\n"
}
