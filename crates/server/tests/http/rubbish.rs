//! Input that is no input: refused in one shape, never a fault of the server's.

use axum::{
    body::Body,
    http::{StatusCode, header},
};
use serde_json::{Value, json};

use crate::shop::{Shop, composition, request};

/// Bodies that no route can mean.
fn bodies() -> Vec<(&'static str, String)> {
    vec![
        ("nothing", String::new()),
        ("no JSON", "{\"a\":".to_owned()),
        ("a number", "7".to_owned()),
        ("a null", "null".to_owned()),
        ("a list", "[]".to_owned()),
        ("an empty object", "{}".to_owned()),
        ("an unknown key", json!({"surprise": 1}).to_string()),
        ("infinity", "{\"version\": 1e999}".to_owned()),
        (
            "depth",
            format!("{}{}", "[".repeat(100_000), "]".repeat(100_000)),
        ),
        ("objects in depth", "{\"a\":".repeat(5_000)),
        ("no UTF-8", String::from("\u{0}\u{1}{")),
    ]
}

#[tokio::test(flavor = "multi_thread")]
async fn every_route_refuses_rubbish_in_the_one_shape() {
    let shop = Shop::open().await;
    let description = server::openapi();
    for (path, item) in description["paths"].as_object().unwrap() {
        for method in item.as_object().unwrap().keys() {
            // Signing out takes anything, and a stream never ends.
            if method == "get" || path == "/api/session" {
                continue;
            }
            for (what, body) in bodies() {
                let place = path
                    .replace("{tag}", "S-0001")
                    .replace("{name}", "solid.measure")
                    .replace("{id}", "1")
                    .replace("{number}", "1");
                let request = request(&method.to_uppercase(), &place)
                    .header(header::CONTENT_TYPE, "application/json")
                    .body(Body::from(body))
                    .unwrap();
                let answer = shop.send(request).await;
                assert!(
                    answer.status.is_client_error(),
                    "{method} {path} with {what}: {} {}",
                    answer.status,
                    answer.text()
                );
                answer.refusal();
            }
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn every_page_refuses_places_that_are_none() {
    let shop = Shop::open().await;
    let description = server::openapi();
    for (path, item) in description["paths"].as_object().unwrap() {
        if item.get("get").is_none() || !path.contains('{') {
            continue;
        }
        for rubbish in [
            "0",
            "-1",
            "99999999999999999999",
            "S-0001",
            "..%2f..%2fetc",
            "%00",
            "%F0%9F%AA%A8",
            "x",
        ] {
            let place: String = path
                .split('/')
                .map(|part| if part.starts_with('{') { rubbish } else { part })
                .collect::<Vec<_>>()
                .join("/");
            let answer = shop.get(&place).await;
            assert_eq!(answer.refusal().0, 404, "{place}: {}", answer.text());
        }
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn what_is_wrong_with_a_body_is_said_at_its_place() {
    let shop = Shop::open().await;
    let layout = shop
        .post("/api/layouts", &json!({"title": "Rubbish"}))
        .await
        .good();
    let path = format!("/api/layouts/{}/composition", layout["id"]);
    let put = |change: fn(&mut Value)| {
        let mut body = json!({"version": 1, "label": "rubbish", "composition": composition(&[])});
        change(&mut body);
        let (shop, path) = (&shop, &path);
        async move { shop.put(path, &body).await.refusal() }
    };
    type Change = fn(&mut Value);
    let cases: &[(Change, &str, &str)] = &[
        (|b| b["surprise"] = json!(1), "unknown_key", "/surprise"),
        (
            |b| b["composition"]["tank"]["colour"] = json!(1),
            "unknown_key",
            "/composition/tank/colour",
        ),
        (
            |b| b["composition"]["tank"]["glass_mm"] = json!("8"),
            "wrong_type",
            "/composition/tank/glass_mm",
        ),
        (
            |b| b["composition"]["tank"]["glass_mm"] = json!(0),
            "out_of_range",
            "/composition/tank/glass_mm",
        ),
        (
            |b| b["composition"]["tank"]["water_line_mm"] = json!(2000),
            "can_not_be",
            "/composition/tank/water_line_mm",
        ),
        (
            |b| b["composition"]["piece"] = json!([{"tag": "X-1", "at_mm": [10, 10]}]),
            "refused",
            "/composition/piece/0/tag",
        ),
        (
            |b| b["composition"]["piece"] = json!([{"tag": "S-0009", "at_mm": [10, 10]}]),
            "refused",
            "/composition/piece/0/tag",
        ),
        (
            |b| b["composition"]["piece"] = json!([{"tag": "S-0009", "at_mm": [10]}]),
            "wrong_type",
            "/composition/piece/0/at_mm",
        ),
        (
            |b| {
                b["composition"]["bed"] =
                    json!([{"material": "none", "by": "top", "points": [[0, 0, 10]]}])
            },
            "can_not_be",
            "/composition/bed/0/material",
        ),
        (
            |b| b["composition"]["plant"] = json!([{"name": "a", "form": "tree", "at_mm": [1, 1], "height_mm": 1, "spread_mm": 1, "colour": "#000000"}]),
            "wrong_type",
            "/composition/plant/0/form",
        ),
        (
            |b| b["composition"]["plant"] = json!([{"name": "a", "form": "moss", "at_mm": [1, 1], "height_mm": 1, "spread_mm": 1, "colour": "red"}]),
            "refused",
            "/composition/plant/0/colour",
        ),
        (|b| b["label"] = json!("  "), "refused", "/label"),
    ];
    for (change, code, at) in cases {
        assert_eq!(
            put(*change).await,
            (422, (*code).to_owned(), (*at).to_owned())
        );
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_body_too_large_is_refused_before_it_is_read() {
    let shop = Shop::open().await;
    let body = json!({"customer": "x".repeat(5 << 20), "brief": {"wish": ""}});
    assert_eq!(shop.post("/api/commissions", &body).await.refusal().0, 413);
    let photograph = [b"\x89PNG\r\n\x1a\n".as_slice(), &vec![0; 40 * 1024 * 1024]].concat();
    let answer = shop.try_upload("large.png", photograph).await;
    assert_eq!(answer.refusal().0, 413);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_body_of_another_kind_and_a_deed_of_another_kind_are_named() {
    let shop = Shop::open().await;
    let form = request("POST", "/api/commissions")
        .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
        .body(Body::from("customer=x"))
        .unwrap();
    assert_eq!(shop.send(form).await.refusal().0, 415);
    assert_eq!(shop.delete("/api/pieces").await.refusal().0, 405);
    assert_eq!(shop.get("/api/nothing").await.refusal().0, 404);
    let unknown = shop.get("/api/pieces?colour=red").await;
    assert_eq!(unknown.refusal().0, 400);
}

#[tokio::test(flavor = "multi_thread")]
async fn pages_are_the_client_and_files_that_are_not_there_are_missing() {
    let shop = Shop::open().await;
    for path in ["/", "/yard", "/yard/S-0001", "/bench/1"] {
        let answer = shop.get(path).await;
        assert_eq!(answer.status, StatusCode::OK, "{path}");
        assert_eq!(
            answer.headers[header::CONTENT_TYPE],
            "text/html; charset=utf-8"
        );
        assert_eq!(answer.headers[header::CACHE_CONTROL], "no-cache");
    }
    for path in ["/assets/none.js", "/assets/../Cargo.toml", "/nothing.txt"] {
        assert_eq!(shop.get(path).await.refusal().0, 404, "{path}");
    }
}
