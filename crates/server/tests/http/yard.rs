//! Pieces: taken in, found, changed, printed.

use serde_json::json;

use crate::shop::Shop;

#[tokio::test]
async fn a_scan_becomes_a_piece_with_its_measures() {
    let shop = Shop::open().await;
    let tag = shop.stone([120.0, 80.0, 50.0]).await;
    let piece = shop.get(&format!("/api/pieces/{tag}")).await.good();
    // Closed form: the volume and the mass of the box.
    assert!((piece["volume_l"].as_f64().unwrap_or_default() - 0.48).abs() < 1e-6);
    assert!((piece["mass_kg"].as_f64().unwrap_or_default() - 0.48 * 2.6).abs() < 1e-6);
    assert_eq!(piece["mass_certainty"], "estimated");
    assert!((piece["size_mm"]["long"].as_f64().unwrap_or_default() - 120.0).abs() < 0.1);
    let list = shop
        .get("/api/pieces?kind=stone&long_min_mm=100")
        .await
        .good();
    assert_eq!(list["total"], 1);
    assert_eq!(shop.get("/api/pieces?kind=wood").await.good()["total"], 0);
}

#[tokio::test]
async fn a_broken_scan_fails_its_job_with_what_to_do() {
    let shop = Shop::open().await;
    let scan = shop
        .upload("broken.ply", b"ply\nformat ascii 1.0\nelement vertex 9\n")
        .await;
    let asked = json!({"kind": "stone", "material": "test stone", "density_kg_m3": 2600.0,
        "unit": "mm", "place": "", "state": "ready", "scan": scan, "photographs": []});
    let job = shop.post("/api/taking-in", asked).await.good()["job"].as_i64();
    let job = shop.job(job.expect("a job")).await;
    assert_eq!(job["state"], "failed");
    assert!(
        job["error"]["hint"]
            .as_str()
            .is_some_and(|hint| !hint.is_empty())
    );
    assert_eq!(shop.get("/api/pieces").await.good()["total"], 0);
}

#[tokio::test]
async fn fit_search_finds_the_piece_that_fills_the_gap() {
    let shop = Shop::open().await;
    let small = shop.stone([60.0, 50.0, 40.0]).await;
    let large = shop.stone([120.0, 80.0, 50.0]).await;
    let gap = json!({"box_mm": {"width": 125.0, "depth": 85.0, "height": 55.0}});
    let found = shop.post("/api/fit", gap).await.good();
    let tags: Vec<&str> = found["matches"]
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(|m| m["tag"].as_str())
        .collect();
    assert_eq!(tags, [large.as_str(), small.as_str()]);
    let none = json!({"box_mm": {"width": 0.0, "depth": 85.0, "height": 55.0}});
    assert_eq!(shop.post("/api/fit", none).await.status, 422);
}

#[tokio::test]
async fn a_change_names_the_version_it_saw() {
    let shop = Shop::open().await;
    let tag = shop.stone([60.0, 50.0, 40.0]).await;
    let path = format!("/api/pieces/{tag}");
    let version = shop.get(&path).await.good()["version"].clone();
    let change = json!({"version": version, "mass_kg": 0.31, "place": "crate 2"});
    let piece = shop.ask("PATCH", &path, Some(change.clone())).await.good();
    assert_eq!(piece["mass_certainty"], "measured");
    shop.ask("PATCH", &path, Some(change))
        .await
        .refused(409, "stale", "");
    let wrong = json!({"version": piece["version"], "mass_kg": -1.0});
    shop.ask("PATCH", &path, Some(wrong))
        .await
        .refused(422, "refused", "/mass_kg");
}

#[tokio::test]
async fn tags_are_printed_singly_and_on_sheets() {
    let shop = Shop::open().await;
    let tag = shop.stone([60.0, 50.0, 40.0]).await;
    for path in [
        format!("/api/pieces/{tag}/tag.pdf"),
        format!("/api/tags.pdf?tags={tag},{tag}&paper=letter"),
    ] {
        let answer = shop.get(&path).await;
        assert!(
            answer.status == 200 && answer.body.starts_with(b"%PDF"),
            "{path}"
        );
    }
    assert_eq!(shop.get("/api/tags.pdf?tags=").await.status, 422);
    assert_eq!(shop.get("/api/tags.pdf?tags=S-7777").await.status, 404);
}

#[tokio::test]
async fn a_table_with_a_fault_changes_nothing_and_names_the_line() {
    let shop = Shop::open().await;
    let tag = shop.stone([60.0, 50.0, 40.0]).await;
    let table = format!("tag,place\n{tag},crate 9\nS-8888,crate 9\n");
    let answer = shop
        .send(
            "POST",
            "/api/pieces.csv",
            Some(table.into_bytes()),
            "text/csv",
            "http://localhost",
        )
        .await;
    assert_eq!(answer.json()["errors"][0]["line"], 3, "{}", answer.json());
    let piece = shop.get(&format!("/api/pieces/{tag}")).await.good();
    assert_eq!(piece["place"], "shelf");
}
