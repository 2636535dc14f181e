//! Commissions, ground materials, methods, today.

use serde_json::json;

use crate::shop::{Shop, block_obj};

#[tokio::test(flavor = "multi_thread")]
async fn a_commission_goes_from_enquiry_to_handing_over() {
    let shop = Shop::open().await;
    let new = json!({"customer": "Bo", "contact": "evenings", "brief": {"wish": "A shore.\nQuiet.", "budget": {"amount": 900.0, "currency": "EUR"}}});
    let begun = shop.post("/api/commissions", &new).await.good();
    assert_eq!(
        (&begun["number"], &begun["state"]),
        (&json!("C-0001"), &json!("enquiry"))
    );
    assert_eq!(begun["brief"]["budget"], new["brief"]["budget"]);
    let path = format!("/api/commissions/{}", begun["id"]);
    let today = shop.get("/api/today").await.good();
    assert_eq!(today["items"][0]["kind"], "enquiry");
    let change = json!({"version": begun["version"], "state": "composing", "contact": null});
    let changed = shop.patch(&path, &change).await.good();
    assert_eq!(
        (&changed["state"], &changed["contact"]),
        (&json!("composing"), &json!(""))
    );
    assert_eq!(changed["history"][0]["after"]["state"], "composing");
    assert_eq!(shop.patch(&path, &change).await.refusal().0, 409);
    let layout = shop
        .post(
            "/api/layouts",
            &json!({"title": "Shore", "commission": begun["id"]}),
        )
        .await
        .good();
    let now = shop.get(&path).await.good();
    assert_eq!(now["layouts"][0]["id"], layout["id"]);
    let card = &shop.get("/api/commissions").await.good()[0];
    assert_eq!(
        (&card["title"], &card["layouts"]),
        (&json!("A shore."), &json!(1))
    );
    let bad = json!({"version": now["version"], "brief": {"wish": "x", "tank": {"outside_mm": [9, 9, 9], "glass_mm": 5, "water_line_mm": 1}}});
    assert_eq!(
        shop.patch(&path, &bad).await.refusal().2,
        "/brief/tank/outside_mm/0"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn ground_materials_are_the_workshops_own() {
    let shop = Shop::open().await;
    let usual = shop.get("/api/ground-materials").await.good();
    assert_eq!(usual["version"], 0);
    let kind = json!({"name": "lava", "bulk_density_kg_m3": 800, "repose_deg": 38});
    let set = shop
        .put(
            "/api/ground-materials",
            &json!({"version": 0, "materials": [kind]}),
        )
        .await
        .good();
    assert_eq!(shop.get("/api/ground-materials").await.good(), set);
    let twice = json!({"version": set["version"], "materials": [kind, kind]});
    assert_eq!(
        shop.put("/api/ground-materials", &twice).await.refusal().2,
        "/materials/1/name"
    );
    let steep = json!({"version": set["version"], "materials": [{"name": "a", "bulk_density_kg_m3": 800, "repose_deg": 90}]});
    assert_eq!(
        shop.put("/api/ground-materials", &steep).await.refusal().2,
        "/materials/0/repose_deg"
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn methods_run_on_uploads_and_pieces() {
    let shop = Shop::open().await;
    let all = shop.get("/api/methods").await.good();
    assert!(
        all.as_array()
            .unwrap()
            .iter()
            .any(|m| m["name"] == "scape.settle")
    );
    let page = shop.get("/api/methods/solid.measure").await.good();
    assert!(!page["checks"].as_array().unwrap().is_empty());
    assert!(page["input_schema"]["properties"]["mesh"].is_object());
    let scan = shop.upload("a.obj", block_obj([100.0, 100.0, 100.0])).await;
    let run = |mesh: serde_json::Value, unit: &'static str| {
        let shop = &shop;
        async move {
            shop.post(
                "/api/methods/solid.measure",
                &json!({"mesh": mesh, "unit": unit, "up": "z"}),
            )
            .await
        }
    };
    let measured = run(json!({"object": scan.to_string()}), "mm").await.good();
    assert!((measured["volume_l"].as_f64().unwrap() - 1.0).abs() < 1e-9);
    let tag = shop.block([200.0, 100.0, 50.0]).await;
    let piece = run(json!({"object": tag}), "m").await.good();
    assert!((piece["volume_l"].as_f64().unwrap() - 1.0).abs() < 1e-9);
    for mesh in [
        json!({"object": "404"}),
        json!("/etc/passwd"),
        json!({"object": "../x"}),
    ] {
        assert_eq!(run(mesh, "mm").await.refusal().2, "/mesh");
    }
    assert_eq!(
        run(json!({"object": scan.to_string()}), "yards")
            .await
            .refusal()
            .2,
        "/unit"
    );
    assert_eq!(
        shop.post("/api/methods/none", &json!({})).await.refusal().0,
        404
    );
}
