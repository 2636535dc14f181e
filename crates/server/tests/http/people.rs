//! Who may ask, and from where.

use serde_json::json;

use crate::shop::Shop;

const GOOD: &str = "a long enough password";

#[tokio::test]
async fn nothing_is_told_before_the_first_start() {
    let shop = Shop::locked().await;
    shop.get("/api/pieces").await.refused(401, "signed_out", "");
    let session = shop.get("/api/session").await.good();
    assert_eq!(session["first_start"], true);
    assert_eq!(session["signed_in"], false);
}

#[tokio::test]
async fn the_first_start_signs_the_owner_in_and_happens_once() {
    let mut shop = Shop::locked().await;
    let asked = json!({"name": "Ada", "password": GOOD});
    let answer = shop.post("/api/first-start", asked.clone()).await;
    shop.sign(answer.cookie.clone());
    assert_eq!(answer.good()["signed_in"], true);
    assert_eq!(shop.get("/api/pieces").await.good()["total"], 0);
    assert_eq!(shop.post("/api/first-start", asked).await.status, 409);
}

#[tokio::test]
async fn a_wrong_password_and_an_ended_session_open_nothing() {
    let mut shop = Shop::locked().await;
    let answer = shop
        .post("/api/first-start", json!({"name": "Ada", "password": GOOD}))
        .await;
    let wrong = json!({"name": "Ada", "password": "not the password"});
    assert_eq!(shop.post("/api/session", wrong).await.status, 401);
    let right = json!({"name": "Ada", "password": GOOD});
    assert!(shop.post("/api/session", right).await.cookie.is_some());
    shop.sign(answer.cookie);
    shop.ask("DELETE", "/api/session", None).await.good();
    assert_eq!(shop.get("/api/pieces").await.status, 401);
}

#[tokio::test]
async fn a_page_from_elsewhere_changes_nothing() {
    let shop = Shop::open().await;
    let body = json!({"title": "theirs"}).to_string().into_bytes();
    let answer = shop
        .send(
            "POST",
            "/api/layouts",
            Some(body),
            "application/json",
            "http://elsewhere.example",
        )
        .await;
    assert_eq!(answer.status, 403);
    assert_eq!(shop.get("/api/layouts").await.good(), json!([]));
}

#[tokio::test]
async fn what_is_not_there_is_said_in_the_one_shape() {
    let shop = Shop::open().await;
    for path in [
        "/api/nothing",
        "/api/layouts/77",
        "/api/pieces/S-9999",
        "/api/jobs/77",
    ] {
        let answer = shop.get(path).await;
        assert_eq!(answer.status, 404, "{path}");
        assert!(answer.json()["error"]["hint"].is_string(), "{path}");
    }
}

#[tokio::test]
async fn a_body_that_is_too_large_or_too_deep_is_refused() {
    let shop = Shop::open().await;
    let large = vec![b' '; 5 << 20];
    let local = "http://localhost";
    let answer = shop
        .send(
            "POST",
            "/api/layouts",
            Some(large),
            "application/json",
            local,
        )
        .await;
    assert_eq!(answer.status, 413);
    let deep = "[".repeat(100_000).into_bytes();
    let answer = shop
        .send(
            "POST",
            "/api/layouts",
            Some(deep),
            "application/json",
            local,
        )
        .await;
    assert_eq!(answer.status, 400);
}
