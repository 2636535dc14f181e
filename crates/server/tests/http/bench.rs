//! Layouts: composed, undone, settled, drawn.

use serde_json::{Value, json};

use crate::shop::Shop;

/// A tank of 580 × 280 × 340 mm inside, water at 300 mm.
fn tank() -> Value {
    json!({"outside_mm": [600.0, 300.0, 350.0], "glass_mm": 10.0, "water_line_mm": 300.0})
}

async fn begun(shop: &Shop) -> Value {
    shop.post("/api/layouts", json!({"title": "trial", "tank": tank()}))
        .await
        .good()
}

/// The layout with one more piece.
async fn place(shop: &Shop, layout: &Value, tag: &str, at_mm: [f64; 2]) -> Value {
    let mut composition = layout["composition"].clone();
    composition["piece"]
        .as_array_mut()
        .expect("a list")
        .push(json!({"tag": tag, "at_mm": at_mm}));
    edit(shop, layout, composition).await.good()
}

async fn edit(shop: &Shop, layout: &Value, composition: Value) -> crate::shop::Answer {
    let body = json!({"version": layout["version"], "label": "Try", "composition": composition});
    shop.ask(
        "PUT",
        &format!("/api/layouts/{}/composition", layout["id"]),
        Some(body),
    )
    .await
}

fn figure(reckoning: &Value, group: &str, key: &str) -> f64 {
    let groups = reckoning["groups"].as_array().expect("groups");
    let group = groups
        .iter()
        .find(|g| g["name"] == group)
        .expect("the group");
    let figures = group["figures"].as_array().expect("figures");
    let found = figures.iter().find(|f| f["key"] == key);
    found
        .and_then(|f| f["value"].as_f64())
        .unwrap_or_else(|| panic!("{group}"))
}

#[tokio::test]
async fn a_piece_comes_to_lie_on_what_is_below() {
    let shop = Shop::open().await;
    let (low, high) = (
        shop.stone([120.0, 80.0, 50.0]).await,
        shop.stone([60.0, 50.0, 40.0]).await,
    );
    let layout = begun(&shop).await;
    let layout = place(&shop, &layout, &low, [300.0, 140.0]).await;
    let layout = place(&shop, &layout, &high, [300.0, 140.0]).await;
    let z = |i: usize| {
        layout["placed"][i]["pose"]["centre_mm"][2]
            .as_f64()
            .unwrap_or_default()
    };
    // Closed form: half of each height in its likeliest pose, one on the other.
    assert!(
        (z(0) - 25.0).abs() < 0.05 && (z(1) - 70.0).abs() < 0.1,
        "{layout}"
    );
}

#[tokio::test]
async fn figures_follow_and_stands_is_told_when_it_is_known() {
    let shop = Shop::open().await;
    let tag = shop.stone([120.0, 80.0, 50.0]).await;
    let layout = place(&shop, &begun(&shop).await, &tag, [300.0, 140.0]).await;
    let path = format!("/api/layouts/{}", layout["id"]);
    let reckoning = shop.get(&format!("{path}/reckoning")).await.good();
    // Closed form: the inside up to the water line less the stone, L.
    let want = 580.0 * 280.0 * 300.0 * 1e-6 - 0.48;
    let got = figure(&reckoning, "water", "water");
    assert!((got - want).abs() < 0.001 * want, "{got} {want}");
    let job = shop.post(&format!("{path}/settle"), json!({})).await.good()["job"].as_i64();
    let settled = shop.job(job.expect("a job")).await;
    assert_eq!(settled["result"]["stands"], true, "{settled}");
    assert_eq!(settled["result"]["final"][0]["at_rest"], true);
    let reckoning = shop.get(&format!("{path}/reckoning")).await.good();
    let stands = &reckoning["groups"][0];
    assert_eq!(
        (&stands["name"], &stands["stale"]),
        (&json!("stands"), &json!(false))
    );
}

#[tokio::test]
async fn every_step_is_undone_and_done_again() {
    let shop = Shop::open().await;
    let tag = shop.stone([120.0, 80.0, 50.0]).await;
    let empty = begun(&shop).await;
    let placed = place(&shop, &empty, &tag, [300.0, 140.0]).await;
    let path = format!("/api/layouts/{}", placed["id"]);
    let undone = shop
        .post(
            &format!("{path}/undo"),
            json!({"version": placed["version"]}),
        )
        .await
        .good();
    assert_eq!(undone["composition"], empty["composition"]);
    let redone = shop
        .post(
            &format!("{path}/redo"),
            json!({"version": undone["version"]}),
        )
        .await
        .good();
    assert_eq!(redone["composition"], placed["composition"]);
    shop.post(
        &format!("{path}/undo"),
        json!({"version": placed["version"]}),
    )
    .await
    .refused(409, "stale", "");
}

#[tokio::test]
async fn what_can_not_be_laid_is_refused_at_its_pointer() {
    let shop = Shop::open().await;
    let layout = begun(&shop).await;
    let changed = |pointer: &str, value: Value| {
        let mut composition = layout["composition"].clone();
        *composition.pointer_mut(pointer).expect("is there") = value;
        composition
    };
    for (pointer, value, code) in [
        ("/tank/glass_mm", json!(0.0), "out_of_range"),
        ("/tank/glass_mm", json!("thick"), "wrong_type"),
        ("/tank/water_line_mm", json!(500.0), "can_not_be"),
    ] {
        let answer = edit(&shop, &layout, changed(pointer, value)).await;
        answer.refused(422, code, &format!("/composition{pointer}"));
    }
    let mut unknown = layout["composition"].clone();
    unknown["colour"] = json!("blue");
    edit(&shop, &layout, unknown)
        .await
        .refused(422, "unknown_key", "/composition/colour");
}

#[tokio::test]
async fn the_sheets_and_the_scene_are_made() {
    let shop = Shop::open().await;
    let tag = shop.stone([120.0, 80.0, 50.0]).await;
    let layout = place(&shop, &begun(&shop).await, &tag, [300.0, 140.0]).await;
    let path = format!("/api/layouts/{}", layout["id"]);
    for (name, head) in [
        ("setting-out.pdf?units=us", &b"%PDF"[..]),
        ("layout.glb", b"glTF"),
    ] {
        let answer = shop.get(&format!("{path}/{name}")).await;
        assert!(
            answer.status == 200 && answer.body.starts_with(head),
            "{name}"
        );
    }
    assert_eq!(
        shop.get(&format!("{path}/setting-out.pdf?paper=b9"))
            .await
            .status,
        400
    );
}
