//! Settings and lots.

use serde_json::json;
use store::{LotFields, StoreError};
use workshop::PieceKind;

use crate::home::{at, euros, homes};

#[tokio::test]
async fn a_setting_is_set_and_changed_by_version() {
    for home in homes("setting").await {
        let store = &home.store;
        assert_eq!(store.setting("shop").await.expect("an answer"), None);
        let value = json!({ "name": "Werkplaats Ovenwade" });
        let set = store
            .set(&at(1), "shop", Some(0), value.clone())
            .await
            .expect("set");
        assert_eq!(set.version, 1);
        let late = store.set(&at(2), "shop", Some(0), json!(1)).await;
        assert!(matches!(
            late,
            Err(StoreError::Stale {
                noun: "setting",
                current: 1,
                ..
            })
        ));
        let kept = store.setting("shop").await.expect("an answer").expect("it");
        assert_eq!((kept.value, kept.version), (value.clone(), 1));
        store
            .set(&at(3), "shop", None, json!(2))
            .await
            .expect("set");
        let event = store
            .history("setting", "shop", 1)
            .await
            .expect("events")
            .remove(0);
        assert_eq!((event.before, event.after), (value, json!(2)));
    }
}

#[tokio::test]
async fn a_lot_is_added_changed_and_removed() {
    for home in homes("lot").await {
        let store = &home.store;
        let fields = LotFields {
            kind: PieceKind::Stone,
            material: "Tarnholt clint".to_owned(),
            grade: "fist".to_owned(),
            mass_kg: 120.0,
            price_per_kg: Some(euros(350)),
            place: "bin 4".to_owned(),
        };
        let lot = store.add_lot(&at(1), fields.clone()).await.expect("added");
        let mut less = fields.clone();
        less.mass_kg = 97.5;
        let changed = store
            .change_lot(&at(2), lot.id, 1, less.clone())
            .await
            .expect("changed");
        assert_eq!((changed.version, changed.fields.mass_kg), (2, 97.5));
        let late = store.change_lot(&at(3), lot.id, 1, less.clone()).await;
        assert!(matches!(late, Err(StoreError::Stale { current: 2, .. })));
        less.mass_kg = f64::NAN;
        let bad = store.change_lot(&at(3), lot.id, 2, less).await;
        assert!(matches!(
            bad,
            Err(StoreError::Refused {
                path: "/mass_kg",
                ..
            })
        ));
        let event = store
            .history("lot", &lot.id.to_string(), 1)
            .await
            .expect("events")
            .remove(0);
        assert_eq!(event.before, json!({ "mass_kg": 120.0, "version": 1 }));
        assert!(store.remove_lot(&at(4), lot.id, 1).await.is_err());
        store.remove_lot(&at(5), lot.id, 2).await.expect("removed");
        assert!(store.lots().await.expect("lots").is_empty());
    }
}
