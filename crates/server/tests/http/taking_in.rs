//! Files that come in, and what becomes of them.

use serde_json::json;

use crate::shop::{Shop, block_obj, taking_in};

#[tokio::test(flavor = "multi_thread")]
async fn a_scan_becomes_a_measured_piece() {
    let shop = Shop::open().await;
    let tag = shop.block([120.0, 80.0, 50.0]).await;
    assert_eq!(tag, "S-0001");
    let piece = shop.get("/api/pieces/S-0001").await.good();
    // Closed form: 12 cm × 8 cm × 5 cm, and its surface.
    let near = |value: &serde_json::Value, want: f64| {
        let value = value.as_f64().unwrap();
        assert!((value - want).abs() < 1e-6 * want, "{value} for {want}");
    };
    near(&piece["volume_l"], 0.48);
    near(
        &piece["area_cm2"],
        2.0 * (12.0 * 8.0 + 12.0 * 5.0 + 8.0 * 5.0),
    );
    near(&piece["mass_kg"], 0.48 * 2.7);
    near(&piece["size_mm"]["long"], 120.0);
    near(&piece["as_laid_mm"]["height"], 50.0);
    assert_eq!(piece["mass_certainty"], "estimated");
    assert_eq!(piece["closed"], true);
    let outline = piece["outline"].as_array().unwrap();
    assert_eq!(
        outline.len(),
        4,
        "a block's outline is a rectangle: {outline:?}"
    );
    assert_eq!(piece["history"][0]["deed"], "taken in");
    assert_eq!(piece["history"][0]["who"], "Ada");
    let picture = shop.get("/api/pieces/S-0001/picture.png").await;
    assert!(picture.bytes.starts_with(b"\x89PNG\r\n\x1a\n"));
    let scan = shop.get("/api/pieces/S-0001/scan.glb?triangles=100").await;
    assert!(scan.bytes.starts_with(b"glTF"));
}

#[tokio::test(flavor = "multi_thread")]
async fn a_bad_scan_says_what_is_wrong_and_what_to_do() {
    let shop = Shop::open().await;
    let failed = |name: &'static str, bytes: Vec<u8>, unit: Option<&'static str>| {
        let shop = &shop;
        async move {
            let scan = shop.upload(name, bytes).await;
            let mut asked = taking_in(scan);
            asked["unit"] = json!(unit);
            let started = shop.post("/api/taking-in", &asked).await.good();
            let job = shop.ended(started["job"].as_i64().unwrap()).await;
            assert_eq!(job["state"], "failed", "{job}");
            assert!(!job["error"]["hint"].as_str().unwrap().is_empty());
            (job["error"]["code"].clone(), job["error"]["path"].clone())
        }
    };
    let block = || block_obj([100.0, 100.0, 100.0]).into_bytes();
    assert_eq!(
        failed("a.obj", block(), None).await,
        (json!("bad_scan"), json!("/unit"))
    );
    assert_eq!(
        failed("a.obj", block(), Some("m")).await,
        (json!("wrong_unit"), json!("/unit"))
    );
    assert_eq!(
        failed("a.ply", b"ply\nrubbish".to_vec(), Some("mm")).await,
        (json!("bad_scan"), json!("/scan"))
    );
    let flat = b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n".to_vec();
    assert_eq!(
        failed("a.obj", flat, Some("mm")).await,
        (json!("bad_scan"), json!("/scan"))
    );
    assert_eq!(shop.get("/api/pieces").await.good()["total"], 0);
}

#[tokio::test(flavor = "multi_thread")]
async fn taking_in_points_at_what_is_out_of_range() {
    let shop = Shop::open().await;
    let scan = shop.upload("a.obj", block_obj([100.0; 3])).await;
    let picture = shop
        .upload("a.png", b"\x89PNG\r\n\x1a\nrest".to_vec())
        .await;
    for (key, value, at) in [
        ("scan", json!(999), "/scan"),
        ("scan", json!(picture), "/scan"),
        ("photographs", json!([scan]), "/photographs/0"),
        ("density_kg_m3", json!(0), "/density_kg_m3"),
        ("mass_kg", json!(-1), "/mass_kg"),
        ("state", json!("sold"), "/state"),
        ("unit", json!("furlong"), "/unit"),
        ("price", json!({"amount": -5, "currency": "EUR"}), "/price"),
        ("material", json!(" "), "/material"),
    ] {
        let mut asked = taking_in(scan);
        asked[key] = value;
        let (status, _, path) = shop.post("/api/taking-in", &asked).await.refusal();
        assert_eq!((status, path.as_str()), (422, at), "{key}");
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn photographs_are_what_their_bytes_say() {
    let shop = Shop::open().await;
    let tag = shop.block([100.0; 3]).await;
    let script = shop
        .upload("photo.png", b"<script>alert(1)</script>".to_vec())
        .await;
    let refused = shop
        .post(
            &format!("/api/pieces/{tag}/photographs"),
            &json!({"uploads": [script]}),
        )
        .await;
    assert_eq!(refused.refusal().0, 422);
    let photo = shop
        .upload(
            "../../photo<b>.html",
            b"\xff\xd8\xff\xe0 a photograph".to_vec(),
        )
        .await;
    let all = shop
        .post(
            &format!("/api/pieces/{tag}/photographs"),
            &json!({"uploads": [photo]}),
        )
        .await
        .good();
    assert_eq!(all[0]["name"], "photob.html");
    let shown = shop
        .get(&format!("/api/pieces/{tag}/photographs/{}", all[0]["id"]))
        .await;
    assert_eq!(shown.headers["content-type"], "image/jpeg");
    assert_eq!(shown.headers["x-content-type-options"], "nosniff");
    assert_eq!(shown.bytes.as_ref(), b"\xff\xd8\xff\xe0 a photograph");
}

#[tokio::test(flavor = "multi_thread")]
async fn an_upload_needs_a_name_and_a_body() {
    let shop = Shop::open().await;
    for name in ["", "..", "/", "\u{0}"] {
        let (status, _, path) = shop.try_upload(name, "x").await.refusal();
        assert_eq!((status, path.as_str()), (422, "/name"), "{name:?}");
    }
    assert_eq!(shop.try_upload("a.ply", "").await.refusal().0, 422);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_job_that_waits_can_be_cancelled_and_stays_so() {
    let shop = Shop::open().await;
    let scan = shop.upload("a.obj", block_obj([100.0; 3])).await;
    // Two at once: the second waits for the first or has ended by itself.
    let first = shop.post("/api/taking-in", &taking_in(scan)).await.good();
    let second = shop.post("/api/taking-in", &taking_in(scan)).await.good();
    let id = second["job"].as_i64().unwrap();
    shop.delete(&format!("/api/jobs/{id}")).await.good();
    let ended = shop.ended(id).await;
    shop.ended(first["job"].as_i64().unwrap()).await;
    let n = shop.get("/api/pieces").await.good()["total"]
        .as_i64()
        .unwrap();
    match ended["state"].as_str().unwrap() {
        "cancelled" => assert_eq!(n, 1),
        "done" => assert_eq!(n, 2),
        other => panic!("{other}"),
    }
    let again = shop.delete(&format!("/api/jobs/{id}")).await.good();
    assert_eq!(again["state"], ended["state"]);
}
