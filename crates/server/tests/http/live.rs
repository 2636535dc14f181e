//! The live view.

use axum::{body::Body, http::header};
use futures_util::StreamExt as _;
use serde_json::{Value, json};

use crate::shop::{Shop, request};

/// The next event of a stream, heartbeats left out.
async fn next(
    parts: &mut axum::body::BodyDataStream,
    text: &mut String,
) -> (Option<String>, Value) {
    loop {
        if let Some((event, rest)) = text.split_once("\n\n") {
            let line = |name: &str| {
                event
                    .lines()
                    .find_map(|l| l.strip_prefix(name))
                    .map(|v| v.trim().to_owned())
            };
            let (id, data) = (line("id:"), line("data:"));
            let rest = rest.to_owned();
            *text = rest;
            if let Some(data) = data {
                return (id, serde_json::from_str(&data).unwrap());
            }
            continue;
        }
        let part = parts.next().await.unwrap().unwrap();
        text.push_str(std::str::from_utf8(&part).unwrap());
    }
}

async fn listen(shop: &Shop, last: Option<&str>) -> axum::body::BodyDataStream {
    let mut builder = request("GET", "/api/events");
    if let Some(last) = last {
        builder = builder.header("last-event-id", last);
    }
    let response = shop.stream(builder.body(Body::empty()).unwrap()).await;
    assert_eq!(
        response.headers()[header::CONTENT_TYPE],
        "text/event-stream"
    );
    response.into_body().into_data_stream()
}

#[tokio::test(flavor = "multi_thread")]
async fn changes_are_heard_and_a_listener_that_was_away_misses_none() {
    let shop = Shop::open().await;
    let lot = json!({"kind": "stone", "material": "slate", "mass_kg": 5});
    let mut parts = listen(&shop, None).await;
    let mut text = String::new();
    for _ in 0..3 {
        shop.post("/api/lots", &lot).await.good();
    }
    let (first, event) = next(&mut parts, &mut text).await;
    assert_eq!(
        (&event["what"], &event["subject"], &event["who"]),
        (&json!("lot.changed"), &json!("1"), &json!("Ada"))
    );
    drop(parts);
    shop.post("/api/lots", &lot).await.good();
    let mut parts = listen(&shop, first.as_deref()).await;
    let mut text = String::new();
    let mut subjects = Vec::new();
    for _ in 0..3 {
        subjects.push(next(&mut parts, &mut text).await.1["subject"].clone());
    }
    assert_eq!(subjects, ["2", "3", "4"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn an_id_from_the_future_or_none_at_all_begins_now() {
    let shop = Shop::open().await;
    let lot = json!({"kind": "stone", "material": "slate", "mass_kg": 5});
    shop.post("/api/lots", &lot).await.good();
    for last in ["999999", "-1", "rubbish"] {
        let mut parts = listen(&shop, Some(last)).await;
        let made = shop.post("/api/lots", &lot).await.good();
        let (_, event) = next(&mut parts, &mut String::new()).await;
        assert_eq!(event["subject"], made["id"].to_string(), "{last}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn an_edit_is_heard_as_changed_and_then_as_reckoned() {
    let shop = Shop::open().await;
    let mut parts = listen(&shop, None).await;
    let mut text = String::new();
    let begun = shop
        .post("/api/layouts", &json!({"title": "Test"}))
        .await
        .good();
    shop.get(&format!("/api/layouts/{}", begun["id"]))
        .await
        .good();
    let mut heard = Vec::new();
    while heard.last().is_none_or(|what| what != "layout.reckoned") {
        heard.push(next(&mut parts, &mut text).await.1["what"].clone());
    }
    assert_eq!(heard, ["layout.changed", "layout.reckoned"]);
}

#[tokio::test(flavor = "multi_thread")]
async fn streams_end_when_the_server_does() {
    let shop = Shop::open().await;
    let mut parts = listen(&shop, None).await;
    shop.app.desk.close();
    assert!(parts.next().await.is_none());
}
