//! First start, signing in and out, and who is kept outside.

use axum::{body::Body, http::header};
use serde_json::json;
use server::Config;

use crate::shop::{OWNER, PASSWORD, Shop, request};

#[tokio::test(flavor = "multi_thread")]
async fn the_first_start_sets_the_owner_once() {
    let mut shop = Shop::new().await;
    let before = shop.get("/api/session").await.good();
    assert_eq!(
        (&before["first_start"], &before["signed_in"]),
        (&json!(true), &json!(false))
    );
    assert_eq!(shop.get("/api/pieces").await.refusal().0, 401);
    let short = json!({"name": OWNER, "password": "short"});
    let refused = shop.post("/api/first-start", &short).await;
    assert_eq!(
        refused.refusal(),
        (422, "refused".into(), "/password".into())
    );
    let owner = json!({"name": OWNER, "password": PASSWORD});
    let answer = shop.post("/api/first-start", &owner).await;
    assert_eq!(
        answer.good()["user"],
        json!({"name": OWNER, "role": "owner"})
    );
    let again = shop.post("/api/first-start", &owner).await;
    assert_eq!(again.refusal().0, 409);
    shop.take_cookie(&answer);
    assert_eq!(shop.get("/api/session").await.good()["signed_in"], true);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_cookie_is_out_of_reach_of_scripts_and_other_sites() {
    let shop = Shop::open().await;
    let owner = json!({"name": OWNER, "password": PASSWORD}).to_string();
    let sign_in = |proto: &str| {
        request("POST", "/api/session")
            .header(header::CONTENT_TYPE, "application/json")
            .header("x-forwarded-proto", proto)
            .body(Body::from(owner.clone()))
            .unwrap()
    };
    let set = |answer: crate::shop::Answer| {
        answer.headers[header::SET_COOKIE]
            .to_str()
            .unwrap()
            .to_owned()
    };
    let plain = set(shop.send(sign_in("http")).await);
    assert!(
        plain.contains("HttpOnly") && plain.contains("SameSite=Strict"),
        "{plain}"
    );
    assert!(!plain.contains("Secure"));
    let behind_https = set(shop.send(sign_in("https")).await);
    assert!(behind_https.contains("; Secure"), "{behind_https}");
}

#[tokio::test(flavor = "multi_thread")]
async fn signing_out_ends_the_session_itself() {
    let mut shop = Shop::open().await;
    let cookie = shop.forget_cookie();
    shop.with_cookie(cookie.clone());
    assert_eq!(shop.get("/api/pieces").await.status, 200);
    shop.delete("/api/session").await.good();
    shop.with_cookie(cookie);
    assert_eq!(shop.get("/api/pieces").await.refusal().0, 401);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_sixth_wrong_password_must_wait() {
    let mut shop = Shop::open().await;
    shop.forget_cookie();
    let wrong = json!({"name": OWNER, "password": "not the password"});
    for _ in 0..5 {
        let (status, code, _) = shop.post("/api/session", &wrong).await.refusal();
        assert_eq!((status, code.as_str()), (401, "wrong_password"));
    }
    let right = json!({"name": OWNER, "password": PASSWORD});
    let answer = shop.post("/api/session", &right).await;
    assert_eq!(answer.refusal().0, 429);
    assert!(answer.headers.contains_key(header::RETRY_AFTER));
}

#[tokio::test(flavor = "multi_thread")]
async fn no_route_answers_a_stranger_but_those_that_sign_in() {
    let mut shop = Shop::open().await;
    shop.forget_cookie();
    const OPEN: &[&str] = &["/api/session", "/api/first-start"];
    let description = server::openapi();
    let mut n = 0;
    for (path, item) in description["paths"].as_object().unwrap() {
        for method in item.as_object().unwrap().keys() {
            if OPEN.contains(&path.as_str()) {
                continue;
            }
            let path = path.replace("{tag}", "S-0001").replace(['{', '}'], "");
            let answer = shop.json(&method.to_uppercase(), &path, &json!({})).await;
            assert_eq!(answer.refusal().0, 401, "{method} {path}");
            n += 1;
        }
    }
    assert!(n > 50, "only {n} routes were tried");
}

#[tokio::test(flavor = "multi_thread")]
async fn another_site_changes_nothing() {
    let shop = Shop::open().await;
    let body = json!({"units": "us"}).to_string();
    let from = |name: &str, value: &str| {
        request("PUT", "/api/preferences")
            .header(header::CONTENT_TYPE, "application/json")
            .header(name, value)
            .body(Body::from(body.clone()))
            .unwrap()
    };
    for (name, value) in [
        ("origin", "https://elsewhere.example"),
        ("origin", "null"),
        ("sec-fetch-site", "cross-site"),
        ("sec-fetch-site", "same-site"),
    ] {
        let (status, code, _) = shop.send(from(name, value)).await.refusal();
        assert_eq!(
            (status, code.as_str()),
            (403, "cross_origin"),
            "{name}: {value}"
        );
    }
    assert_eq!(shop.get("/api/session").await.good()["units"], "metric");
    let own = shop.send(from("origin", "http://workshop.example")).await;
    assert_eq!(own.good()["units"], "us");
}

#[tokio::test(flavor = "multi_thread")]
async fn the_demo_needs_no_signing_in_but_this_machines_name() {
    let shop = Shop::with(Config { demo: true }).await;
    let ask = |host: &str| {
        let builder = axum::http::Request::builder().uri("/api/session");
        builder
            .header(header::HOST, host)
            .body(Body::empty())
            .unwrap()
    };
    let here = shop.send(ask("127.0.0.1:7420")).await.good();
    assert_eq!(
        (&here["demo"], &here["signed_in"], &here["first_start"]),
        (&json!(true), &json!(true), &json!(false))
    );
    // A stranger's name that leads to this machine (DNS rebinding).
    assert_eq!(shop.send(ask("elsewhere.example")).await.refusal().0, 403);
}

#[tokio::test(flavor = "multi_thread")]
async fn every_answer_tells_the_browser_what_it_may_do() {
    let shop = Shop::open().await;
    for path in [
        "/",
        "/yard/S-0001",
        "/api/session",
        "/api/nothing",
        "/health",
        "/assets/none.js",
    ] {
        let answer = shop.get(path).await;
        let policy = answer.headers["content-security-policy"].to_str().unwrap();
        assert!(policy.contains("script-src 'self';"), "{path}: {policy}");
        assert_eq!(
            answer.headers["x-content-type-options"], "nosniff",
            "{path}"
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn health_and_metrics_need_nobody() {
    let mut shop = Shop::open().await;
    shop.forget_cookie();
    assert_eq!(shop.get("/health").await.good()["ok"], true);
    let _ = shop.get("/api/pieces").await;
    let text = shop.get("/metrics").await.text();
    assert!(
        text.contains(
            "lentic_requests_total{method=\"GET\",path=\"/api/pieces\",status=\"401\"} 1"
        ),
        "{text}"
    );
    assert!(text.contains("lentic_events_total"));
}
