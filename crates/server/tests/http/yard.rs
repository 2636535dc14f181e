//! The yard: changed, searched, graded, held, sold, out as a table and in again.

use axum::{body::Body, http::header};
use serde_json::{Value, json};

use crate::shop::{Answer, Shop, request};

async fn send_table(shop: &Shop, text: &str) -> Answer {
    let request = request("POST", "/api/pieces.csv").header(header::CONTENT_TYPE, "text/csv");
    shop.send(request.body(Body::from(text.to_owned())).unwrap())
        .await
}

#[tokio::test(flavor = "multi_thread")]
async fn a_stale_change_is_refused_with_the_current_version() {
    let shop = Shop::open().await;
    let tag = shop.block([100.0, 60.0, 40.0]).await;
    let path = format!("/api/pieces/{tag}");
    let seen = shop.get(&path).await.good()["version"].as_i64().unwrap();
    let money = json!({"amount": 42.5, "currency": "EUR"});
    let changed = shop
        .patch(
            &path,
            &json!({"version": seen, "place": "shelf B", "price": money, "mass_kg": 0.7}),
        )
        .await
        .good();
    assert_eq!(
        (&changed["place"], &changed["price"]),
        (&json!("shelf B"), &money)
    );
    assert_eq!(changed["mass_certainty"], "measured");
    let stale = shop
        .patch(&path, &json!({"version": seen, "place": "shelf C"}))
        .await;
    assert_eq!(stale.refusal().0, 409);
    assert_eq!(stale.json()["error"]["current_version"], changed["version"]);
    let cleared = shop
        .patch(
            &path,
            &json!({"version": changed["version"], "price": null}),
        )
        .await
        .good();
    assert_eq!(
        (&cleared["price"], &cleared["place"]),
        (&Value::Null, &json!("shelf B"))
    );
    let euros =
        json!({"version": cleared["version"], "price": {"amount": 0.001, "currency": "EUR"}});
    assert_eq!(
        shop.patch(&path, &euros).await.refusal(),
        (422, "refused".into(), "/price".into())
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_mass_that_nobody_weighed_follows_the_density() {
    let shop = Shop::open().await;
    let tag = shop.block([100.0, 100.0, 100.0]).await;
    let path = format!("/api/pieces/{tag}");
    let seen = shop.get(&path).await.good()["version"].clone();
    let changed = shop
        .patch(&path, &json!({"version": seen, "density_kg_m3": 3000}))
        .await
        .good();
    // A litre of 3000 kg/m³.
    assert!((changed["mass_kg"].as_f64().unwrap() - 3.0).abs() < 1e-9);
    assert_eq!(changed["mass_certainty"], "estimated");
}

#[tokio::test(flavor = "multi_thread")]
async fn a_list_is_narrowed_sorted_and_counted() {
    let shop = Shop::open().await;
    for size in [
        [100.0, 60.0, 40.0],
        [200.0, 60.0, 40.0],
        [300.0, 60.0, 40.0],
    ] {
        shop.block(size).await;
    }
    let tags = |answer: Value| -> Vec<String> {
        let pieces = answer["pieces"].as_array().unwrap().clone();
        pieces
            .iter()
            .map(|p| p["tag"].as_str().unwrap().to_owned())
            .collect()
    };
    let all = shop.get("/api/pieces?sort=long").await.good();
    assert_eq!(
        all["facets"]["materials"],
        json!([{"name": "slate", "kind": "stone", "count": 3}])
    );
    assert_eq!(tags(all), ["S-0003", "S-0002", "S-0001"]);
    let some = shop
        .get("/api/pieces?long_min_mm=150&kind=stone&state=ready|on_display&limit=1")
        .await
        .good();
    assert_eq!(some["total"], 2);
    assert_eq!(tags(some), ["S-0002"]);
    assert_eq!(shop.get("/api/pieces?state=lost").await.refusal().0, 422);
    assert_eq!(shop.get("/api/pieces?limit=9999").await.refusal().0, 422);
}

#[tokio::test(flavor = "multi_thread")]
async fn fit_search_finds_what_fits_and_follows_changes() {
    let shop = Shop::open().await;
    let tag = shop.block([200.0, 100.0, 50.0]).await;
    let ask = |body: Value| {
        let shop = &shop;
        async move { shop.post("/api/fit", &body).await }
    };
    let wide = json!({"box_mm": {"width": 210, "depth": 110, "height": 55}});
    // The index follows the store's events: it is asked until it has heard of this one.
    let found = loop {
        let found = ask(wide.clone()).await.good();
        if found["n_considered"] == 1 {
            break found;
        }
        tokio::task::yield_now().await;
    };
    assert_eq!(found["matches"][0]["tag"], tag);
    let fill = found["matches"][0]["fill"].as_f64().unwrap();
    // 200 × 100 × 50 in 210 × 110 × 55, lengths kept to a millimetre.
    assert!((fill - 0.787).abs() < 0.03, "{fill}");
    let small = shop.block([100.0, 90.0, 50.0]).await;
    let both = loop {
        let both = ask(wide.clone()).await.good();
        if both["n_considered"] == 2 {
            break both;
        }
        tokio::task::yield_now().await;
    };
    let order = [&both["matches"][0]["tag"], &both["matches"][1]["tag"]];
    assert_eq!(
        order,
        [tag.as_str(), small.as_str()],
        "what fills more comes first"
    );
    let narrow = ask(json!({"box_mm": {"width": 40, "depth": 40, "height": 40}}))
        .await
        .good();
    assert_eq!(narrow["matches"], json!([]));
    let outline =
        json!({"outline_mm": [[100, 20], [320, 20], [320, 80], [100, 80]], "depth_mm": 120});
    assert_eq!(ask(outline).await.good()["matches"][0]["tag"], tag);
    for (body, at) in [
        (json!({}), ""),
        (json!({"outline_mm": [[0, 0], [1, 0], [0, 1]]}), "/depth_mm"),
        (
            json!({"box_mm": {"width": 0, "depth": 1, "height": 1}}),
            "/box_mm",
        ),
        (
            json!({"outline_mm": [[0, 0], [900, 0]], "depth_mm": 100}),
            "/outline_mm",
        ),
    ] {
        let (status, _, path) = ask(body).await.refusal();
        assert_eq!((status, path.as_str()), (422, at));
    }
}

#[tokio::test(flavor = "multi_thread")]
async fn a_table_that_comes_back_as_it_went_changes_nothing() {
    let shop = Shop::open().await;
    for size in [[100.0, 60.0, 40.0], [33.3, 22.2, 11.1]] {
        shop.block(size).await;
    }
    let seen = shop.get("/api/pieces/S-0001").await.good()["version"].clone();
    let hostile = json!({"version": seen, "notes": "=HYPERLINK(\"x\")", "place": "a, \"b\"; c"});
    shop.patch("/api/pieces/S-0001", &hostile).await.good();
    let table = shop.get("/api/pieces.csv").await;
    assert_eq!(
        table.headers[header::CONTENT_TYPE],
        "text/csv; charset=utf-8"
    );
    assert!(
        table.text().contains("'=HYPERLINK"),
        "a spreadsheet would run it"
    );
    let same = send_table(&shop, &table.text()).await.good();
    assert_eq!(same, json!({"changed": 0, "unchanged": 2, "errors": []}));
    let text = "tag,place,price,mass_kg,state\nS-0001,shelf Z,12.50,1.5,on_display\n";
    let changed = send_table(&shop, text).await.good();
    assert_eq!(changed["changed"], 1);
    let piece = shop.get("/api/pieces/S-0001").await.good();
    assert_eq!(
        (&piece["place"], &piece["state"]),
        (&json!("shelf Z"), &json!("on_display"))
    );
    assert_eq!(piece["price"], json!({"amount": 12.5, "currency": "EUR"}));
    assert_eq!(piece["mass_certainty"], "measured");
}

#[tokio::test(flavor = "multi_thread")]
async fn one_mistake_in_a_table_and_nothing_is_changed() {
    let shop = Shop::open().await;
    shop.block([100.0, 60.0, 40.0]).await;
    let text = "tag,place,mass_kg,price\nS-0001,shelf Z,1.5,\nS-0404,x,,\nS-0001,y,,\nX,y,,\n";
    let taken = send_table(&shop, text).await.good();
    let places: Vec<_> = taken["errors"]
        .as_array()
        .unwrap()
        .iter()
        .map(|e| {
            (
                e["line"].as_u64().unwrap(),
                e["column"].as_str().unwrap().to_owned(),
            )
        })
        .collect();
    assert_eq!(
        places,
        [
            (3, "tag".to_owned()),
            (4, "tag".to_owned()),
            (5, "tag".to_owned())
        ]
    );
    assert_eq!(
        shop.get("/api/pieces/S-0001").await.good()["place"],
        "shelf A"
    );
    let wrong = send_table(&shop, "tag,mass_kg,state,price\nS-0001,heavy,lost,-3\n")
        .await
        .good();
    assert_eq!(wrong["errors"].as_array().unwrap().len(), 3);
    assert_eq!(
        send_table(&shop, "tag,colour\nS-0001,red\n")
            .await
            .refusal()
            .0,
        400
    );
    assert_eq!(send_table(&shop, "").await.refusal().0, 400);
    assert_eq!(
        send_table(&shop, "tag,place\nS-0001\n").await.refusal().0,
        400
    );
}

#[tokio::test(flavor = "multi_thread")]
async fn a_piece_is_neither_held_nor_sold_twice() {
    let shop = Shop::open().await;
    let tag = shop.block([100.0, 60.0, 40.0]).await;
    let path = |deed: &str| format!("/api/pieces/{tag}/{deed}");
    let version = |piece: &Value| piece["version"].clone();
    let seen = shop.get(&format!("/api/pieces/{tag}")).await.good();
    let nobody = shop
        .post(
            &path("hold"),
            &json!({"version": version(&seen), "commission": 77}),
        )
        .await;
    assert_eq!(nobody.refusal().2, "/commission");
    let held = shop
        .post(
            &path("hold"),
            &json!({"version": version(&seen), "until_ms": 1_900_000_000_000_i64}),
        )
        .await
        .good();
    assert_eq!(held["state"], "held");
    assert_eq!(held["hold"]["until_ms"], 1_900_000_000_000_i64);
    let twice = shop
        .post(&path("hold"), &json!({"version": version(&held)}))
        .await;
    assert_eq!(twice.refusal().1, "taken");
    let free = shop
        .post(&path("let-go"), &json!({"version": version(&held)}))
        .await
        .good();
    assert_eq!(free["state"], "ready");
    let sold = shop
        .post(&path("sell"), &json!({"version": version(&free)}))
        .await
        .good();
    assert_eq!(sold["state"], "sold");
    let again = shop
        .post(&path("sell"), &json!({"version": version(&sold)}))
        .await;
    assert_eq!(again.refusal().1, "taken");
}

#[tokio::test(flavor = "multi_thread")]
async fn grades_follow_the_owners_rules() {
    let shop = Shop::open().await;
    let tag = shop.block([100.0, 60.0, 40.0]).await;
    let rule = |name: &str, from: Value, below: Value| json!({"kind": "stone", "name": name, "measure": "long_mm", "from": from, "below": below});
    let rules = json!({"version": 0, "rules": [rule("hand", json!(null), json!(120)), rule("large", json!(120), json!(null))]});
    let set = shop.put("/api/grades", &rules).await.good();
    assert_eq!(
        shop.get(&format!("/api/pieces/{tag}")).await.good()["grade"],
        "hand"
    );
    assert_eq!(shop.get("/api/grades").await.good(), set);
    assert_eq!(shop.put("/api/grades", &rules).await.refusal().0, 409);
    let empty = json!({"version": set["version"], "rules": [rule("none", json!(5), json!(5))]});
    assert_eq!(shop.put("/api/grades", &empty).await.refusal().2, "/rules");
}

#[tokio::test(flavor = "multi_thread")]
async fn lots_are_added_changed_and_removed() {
    let shop = Shop::open().await;
    let new = json!({"kind": "stone", "material": "slate", "grade": "hand", "mass_kg": 50, "price_per_kg": {"amount": 3.9, "currency": "EUR"}, "place": "crate 1"});
    let lot = shop.post("/api/lots", &new).await.good();
    let path = format!("/api/lots/{}", lot["id"]);
    let less = shop
        .patch(&path, &json!({"version": lot["version"], "mass_kg": 42.5}))
        .await
        .good();
    assert_eq!(
        (&less["mass_kg"], &less["price_per_kg"]),
        (&json!(42.5), &new["price_per_kg"])
    );
    let none = shop
        .patch(&path, &json!({"version": less["version"], "mass_kg": 0}))
        .await
        .good();
    assert_eq!(none["mass_kg"], 0.0);
    assert_eq!(
        shop.patch(&path, &json!({"version": 1, "mass_kg": 1}))
            .await
            .refusal()
            .0,
        409
    );
    let bad = shop
        .patch(&path, &json!({"version": none["version"], "mass_kg": -1}))
        .await;
    assert_eq!(bad.refusal().2, "/mass_kg");
    assert_eq!(
        shop.delete(&format!("{path}?version=1")).await.refusal().0,
        409
    );
    assert_eq!(shop.delete(&path).await.status, 204);
    assert_eq!(shop.get("/api/lots").await.good(), json!([]));
}
