//! The bench: composed, undone, reckoned, settled, kept, drawn.

use serde_json::{Value, json};

use crate::shop::{Shop, composition};

/// A layout of its own with these pieces; its path and what was answered.
async fn layout(shop: &Shop, pieces: &[Value]) -> (String, Value) {
    let begun = shop
        .post("/api/layouts", &json!({"title": "Test"}))
        .await
        .good();
    let path = format!("/api/layouts/{}", begun["id"]);
    let body = json!({"version": begun["version"], "label": "put them in", "composition": composition(pieces)});
    let now = shop.put(&format!("{path}/composition"), &body).await.good();
    (path, now)
}

fn at(tag: &str, x: f64, y: f64) -> Value {
    json!({"tag": tag, "at_mm": [x, y]})
}

fn figure(reckoning: &Value, group: &str, key: &str) -> f64 {
    let groups = reckoning["groups"].as_array().unwrap();
    let group = groups.iter().find(|g| g["name"] == group).unwrap();
    let figures = group["figures"].as_array().unwrap();
    let found = figures.iter().find(|f| f["key"] == key).unwrap();
    assert!(!found["relation"].as_str().unwrap().is_empty());
    assert!(!found["source"].as_str().unwrap().is_empty());
    assert!(!found["label"].as_str().unwrap().is_empty());
    found["value"].as_f64().unwrap()
}

#[tokio::test(flavor = "multi_thread")]
async fn a_stack_lies_on_each_other_and_its_figures_follow() {
    let shop = Shop::open().await;
    let (under, over) = (
        shop.block([200.0, 150.0, 50.0]).await,
        shop.block([100.0, 80.0, 40.0]).await,
    );
    let (path, now) = layout(&shop, &[at(&under, 290.0, 170.0), at(&over, 290.0, 170.0)]).await;
    let placed = now["placed"].as_array().unwrap();
    let near = |value: f64, want: f64, within: f64| {
        assert!((value - want).abs() < within, "{value} for {want}")
    };
    near(placed[0]["low_mm"].as_f64().unwrap(), 0.0, 0.5);
    near(placed[1]["low_mm"].as_f64().unwrap(), 50.0, 0.5);
    near(placed[1]["high_mm"].as_f64().unwrap(), 90.0, 0.5);
    assert_eq!(now["inside_mm"], json!([584.0, 344.0, 352.0]));
    let reckoning = shop.get(&format!("{path}/reckoning")).await.good();
    assert_eq!(reckoning["version"], now["version"]);
    // Closed form: 584 × 344 × 320 mm less both blocks.
    let bare = 5.84 * 3.44 * 3.2;
    near(figure(&reckoning, "water", "bare"), bare, 1e-6);
    near(
        figure(&reckoning, "water", "water"),
        bare - 2.0 * 1.5 * 0.5 - 1.0 * 0.8 * 0.4,
        0.005,
    );
    near(
        figure(&reckoning, "weight", "stone"),
        2.7 * (1.5 + 0.32),
        1e-6,
    );
    let settled = shop
        .done(&shop.post(&format!("{path}/settle"), &json!({})).await)
        .await;
    assert_eq!(settled["stands"], true, "{}", settled["words"]);
    assert_eq!(settled["tags"], json!([under, over]));
    assert!(settled["frames"].as_array().unwrap().len() > 2);
    let reckoning = shop.get(&format!("{path}/reckoning")).await.good();
    let stands = &reckoning["groups"][0];
    assert_eq!(
        (&stands["name"], &stands["stale"]),
        (&json!("stands"), &json!(false))
    );
    assert_eq!(stands["rows"].as_array().unwrap().len(), 2);
    let card = &shop.get("/api/layouts").await.good()[0];
    assert_eq!(
        (&card["pieces"], &card["stands"]),
        (&json!(2), &json!(true))
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn what_topples_is_said_with_the_reason() {
    let shop = Shop::open().await;
    let (under, over) = (
        shop.block([60.0, 150.0, 50.0]).await,
        shop.block([200.0, 80.0, 30.0]).await,
    );
    // The upper block's middle lies beyond the lower one's edge.
    let (path, _) = layout(&shop, &[at(&under, 200.0, 170.0), at(&over, 280.0, 170.0)]).await;
    let settled = shop
        .done(&shop.post(&format!("{path}/settle"), &json!({})).await)
        .await;
    assert_eq!(settled["stands"], false);
    let reckoning = shop.get(&format!("{path}/reckoning")).await.good();
    let stands = &reckoning["groups"][0];
    assert!(
        stands["verdict"].as_str().unwrap().contains(&over),
        "{stands}"
    );
    let findings = stands["findings"].as_array().unwrap();
    let moved = findings
        .iter()
        .find(|f| f["rule"] == "moved" && f["tag"] == over.as_str())
        .unwrap();
    assert!(
        moved["text"]
            .as_str()
            .unwrap()
            .contains("beyond what holds it"),
        "{moved}"
    );
    let today = shop.get("/api/today").await.good();
    let items = today["items"].as_array().unwrap();
    assert!(items.iter().any(|i| i["kind"] == "layout_falls"), "{today}");
}

#[tokio::test(flavor = "multi_thread")]
async fn steps_are_undone_and_brought_back_and_outlive_a_restart() {
    let shop = Shop::open().await;
    let tag = shop.block([100.0, 80.0, 40.0]).await;
    let (path, now) = layout(&shop, &[at(&tag, 100.0, 100.0)]).await;
    let body = json!({"version": now["version"], "label": "move it", "composition": composition(&[at(&tag, 300.0, 200.0)])});
    let moved = shop.put(&format!("{path}/composition"), &body).await.good();
    assert_eq!(
        (&moved["undo"], &moved["redo"]),
        (&json!("move it"), &Value::Null)
    );
    let stale = shop.put(&format!("{path}/composition"), &body).await;
    assert_eq!(stale.refusal().0, 409);
    assert_eq!(stale.json()["error"]["current_version"], moved["version"]);
    let undone = shop
        .post(
            &format!("{path}/undo"),
            &json!({"version": moved["version"]}),
        )
        .await
        .good();
    assert_eq!(undone["redo"], "move it");
    assert_eq!(
        undone["composition"]["piece"][0]["at_mm"],
        json!([100.0, 100.0])
    );
    assert_eq!(undone["placed"][0], now["placed"][0]);
    assert_eq!(
        shop.post(&format!("{path}/undo"), &json!({"version": 1}))
            .await
            .refusal()
            .0,
        409
    );
    let shop = shop.restarted().await;
    let after = shop.get(&path).await.good();
    assert_eq!(after, undone);
    let redone = shop
        .post(
            &format!("{path}/redo"),
            &json!({"version": after["version"]}),
        )
        .await
        .good();
    assert_eq!(redone["placed"], moved["placed"]);
    let none = shop
        .post(
            &format!("{path}/redo"),
            &json!({"version": redone["version"]}),
        )
        .await;
    assert_eq!(none.refusal().0, 422);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_preview_says_what_would_hold_and_changes_nothing() {
    let shop = Shop::open().await;
    let (under, over) = (
        shop.block([200.0, 150.0, 50.0]).await,
        shop.block([100.0, 80.0, 40.0]).await,
    );
    let (path, now) = layout(&shop, &[at(&under, 290.0, 170.0)]).await;
    let ask = |piece: Value, index: Value| {
        let (shop, path) = (&shop, format!("{path}/let-down"));
        async move {
            shop.post(&path, &json!({"index": index, "piece": piece}))
                .await
        }
    };
    let on_it = ask(at(&over, 290.0, 170.0), json!(null)).await.good();
    assert_eq!(on_it["supports"], json!([under]));
    assert!((on_it["low_mm"].as_f64().unwrap() - 50.0).abs() < 0.5);
    let beside = ask(at(&over, 80.0, 80.0), json!(null)).await.good();
    assert_eq!(beside["supports"], json!(["base"]));
    let itself = ask(at(&under, 200.0, 170.0), json!(0)).await.good();
    assert_eq!(itself["supports"], json!(["base"]));
    for (piece, at) in [
        (json!({"tag": "S-0404", "at_mm": [1, 1]}), "/piece/tag"),
        (json!({"tag": over, "at_mm": [1, 99999]}), "/piece/at_mm/1"),
        (
            json!({"tag": over, "at_mm": [1, 1], "pose": 23}),
            "/piece/pose",
        ),
        (
            json!({"tag": over, "at_mm": [1, 1], "quaternion": [2, 0, 0, 0]}),
            "/piece/quaternion",
        ),
    ] {
        let (status, _, path) = ask(piece, json!(null)).await.refusal();
        assert_eq!((status, path.as_str()), (422, at));
    }
    assert_eq!(shop.get(&path).await.good(), now);
}

#[tokio::test(flavor = "multi_thread")]
async fn a_piece_is_in_a_layout_once_only() {
    let shop = Shop::open().await;
    let tag = shop.block([100.0, 80.0, 40.0]).await;
    let (path, now) = layout(&shop, &[]).await;
    let twice = composition(&[at(&tag, 100.0, 100.0), at(&tag, 300.0, 100.0)]);
    let body = json!({"version": now["version"], "label": "twice", "composition": twice});
    let refused = shop
        .put(&format!("{path}/composition"), &body)
        .await
        .refusal();
    assert_eq!(
        refused,
        (422, "refused".into(), "/composition/piece/1/tag".into())
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_weighed_piece_weighs_so_in_its_layout() {
    let shop = Shop::open().await;
    let tag = shop.block([100.0, 100.0, 100.0]).await;
    let (path, _) = layout(&shop, &[at(&tag, 290.0, 170.0)]).await;
    let before = shop.get(&format!("{path}/reckoning")).await.good();
    assert!((figure(&before, "weight", "stone") - 2.7).abs() < 1e-6);
    let seen = shop.get(&format!("/api/pieces/{tag}")).await.good();
    shop.patch(
        &format!("/api/pieces/{tag}"),
        &json!({"version": seen["version"], "mass_kg": 2.9}),
    )
    .await
    .good();
    let after = shop.get(&format!("{path}/reckoning")).await.good();
    assert!((figure(&after, "weight", "stone") - 2.9).abs() < 1e-9);
}

#[tokio::test(flavor = "multi_thread")]
async fn the_ground_is_a_grid_of_heights() {
    let shop = Shop::open().await;
    let (path, now) = layout(&shop, &[]).await;
    let mut sand = composition(&[]);
    sand["material"] = json!([{"name": "sand", "bulk_density_kg_m3": 1550, "repose_deg": 32, "colour": "#cbb995"}]);
    sand["bed"] =
        json!([{"material": "sand", "region": "all", "by": "top", "points": [[0, 0, 30]]}]);
    let body = json!({"version": now["version"], "label": "sand", "composition": sand});
    shop.put(&format!("{path}/composition"), &body).await.good();
    let ground = shop.get(&format!("{path}/ground")).await.good();
    let heights = ground["heights_mm"].as_array().unwrap();
    let (nx, ny) = (
        ground["nx"].as_u64().unwrap(),
        ground["ny"].as_u64().unwrap(),
    );
    assert_eq!(heights.len() as u64, nx * ny);
    assert!(heights.iter().all(|h| h == 30.0));
    assert_eq!(ground["colours"], json!(["#cbb995"]));
    let reckoning = shop.get(&format!("{path}/reckoning")).await.good();
    let sand = &reckoning["groups"][1]["rows"][0];
    // Closed form: 584 × 344 × 30 mm.
    let volume = sand["figures"][0]["value"].as_f64().unwrap();
    assert!((volume - 5.84 * 3.44 * 0.3).abs() < 1e-9, "{volume}");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_revision_is_kept_drawn_and_brought_back() {
    let shop = Shop::open().await;
    let tag = shop.block([100.0, 80.0, 40.0]).await;
    let (path, now) = layout(&shop, &[at(&tag, 100.0, 100.0)]).await;
    let kept = shop
        .post(
            &format!("{path}/revisions"),
            &json!({"version": now["version"], "note": "first"}),
        )
        .await
        .good();
    assert_eq!(kept["revisions"][0]["note"], "first");
    let jobs = shop.get("/api/jobs").await.good();
    let drawing = jobs
        .as_array()
        .unwrap()
        .iter()
        .find(|j| j["kind"] == "revision_picture")
        .unwrap();
    assert_eq!(
        shop.ended(drawing["id"].as_i64().unwrap()).await["state"],
        "done"
    );
    let picture = shop.get(&format!("{path}/revisions/1/front.png")).await;
    assert!(picture.bytes.starts_with(b"\x89PNG\r\n\x1a\n"));
    let body =
        json!({"version": kept["version"], "label": "empty it", "composition": composition(&[])});
    let empty = shop.put(&format!("{path}/composition"), &body).await.good();
    let page = shop.get(&format!("{path}/revisions/1")).await.good();
    assert_eq!(page["placed"], now["placed"]);
    let back = shop
        .post(
            &format!("{path}/revisions/1/restore"),
            &json!({"version": empty["version"]}),
        )
        .await
        .good();
    assert_eq!(
        (&back["placed"], &back["undo"]),
        (&now["placed"], &json!("back to revision 1"))
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn documents_pictures_and_the_scene_are_what_they_say() {
    let shop = Shop::open().await;
    let tag = shop.block([100.0, 80.0, 40.0]).await;
    let (path, _) = layout(&shop, &[at(&tag, 290.0, 170.0)]).await;
    for (name, kind, head) in [
        (
            "setting-out.pdf?paper=letter&units=us",
            "application/pdf",
            b"%PDF".as_slice(),
        ),
        ("build-sheet.pdf", "application/pdf", b"%PDF"),
        ("front.png", "image/png", b"\x89PNG"),
        ("plan.png", "image/png", b"\x89PNG"),
        ("layout.glb", "model/gltf-binary", b"glTF"),
    ] {
        let answer = shop.get(&format!("{path}/{name}")).await;
        assert_eq!(
            answer.headers["content-type"],
            kind,
            "{name}: {}",
            answer.text()
        );
        assert!(answer.bytes.starts_with(head), "{name}");
    }
    assert_eq!(
        shop.get(&format!("{path}/setting-out.pdf?paper=a0"))
            .await
            .refusal()
            .0,
        400
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_layout_begins_like_another_or_for_a_commission() {
    let shop = Shop::open().await;
    let tag = shop.block([100.0, 80.0, 40.0]).await;
    let (path, now) = layout(&shop, &[at(&tag, 290.0, 170.0)]).await;
    let like = shop
        .post(
            "/api/layouts",
            &json!({"title": "Again", "like": now["id"]}),
        )
        .await
        .good();
    assert_eq!(
        (&like["title"], &like["placed"]),
        (&json!("Again"), &now["placed"])
    );
    assert_ne!(like["id"], now["id"]);
    let refused = |body: Value| {
        let shop = &shop;
        async move { shop.post("/api/layouts", &body).await.refusal() }
    };
    assert_eq!(refused(json!({"title": "x", "like": 404})).await.2, "/like");
    assert_eq!(refused(json!({"title": " "})).await.2, "/title");
    assert_eq!(
        refused(json!({"title": "x", "commission": 404})).await.0,
        422
    );
    assert_eq!(shop.get(&path).await.good()["title"], "Test");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_layout_laid_step_by_step_is_the_one_laid_at_once() {
    let shop = Shop::open().await;
    let (a, b, c) = (
        shop.block([200.0, 150.0, 50.0]).await,
        shop.block([100.0, 80.0, 40.0]).await,
        shop.block([90.0, 70.0, 30.0]).await,
    );
    let steps = [
        vec![at(&a, 250.0, 170.0)],
        vec![at(&a, 250.0, 170.0), at(&b, 233.3, 161.7)],
        vec![
            at(&a, 250.0, 170.0),
            at(&b, 233.3, 161.7),
            at(&c, 230.1, 160.9),
        ],
        vec![
            at(&a, 250.0, 170.0),
            at(&b, 241.7, 155.1),
            at(&c, 230.1, 160.9),
        ],
    ];
    let (path, mut now) = layout(&shop, &[]).await;
    for pieces in &steps {
        let body =
            json!({"version": now["version"], "label": "on", "composition": composition(pieces)});
        now = shop.put(&format!("{path}/composition"), &body).await.good();
    }
    // A new server has nothing in memory and lays it whole.
    let shop = shop.restarted().await;
    assert_eq!(shop.get(&path).await.good()["placed"], now["placed"]);
}
