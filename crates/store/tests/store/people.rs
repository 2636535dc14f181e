//! Users, sessions and commissions.

use serde_json::json;
use store::{CommissionChange, CommissionState, Role, StoreError, Units};

use crate::home::{at, homes};

#[tokio::test]
async fn there_is_one_first_user() {
    for home in homes("first_user").await {
        let store = &home.store;
        assert!(store.is_first_start().await.expect("an answer"));
        let tasks = ["a", "b", "c"].map(|name| {
            let store = store.clone();
            tokio::spawn(async move { store.add_first_user(&at(1), name, "hash").await })
        });
        let mut n_made = 0;
        for task in tasks {
            match task.await.expect("no panic") {
                Ok(user) => {
                    n_made += 1;
                    assert_eq!(user.role, Role::Owner);
                }
                Err(StoreError::Exists { .. }) => {}
                Err(other) => panic!("{other}"),
            }
        }
        assert_eq!(n_made, 1);
        assert!(!store.is_first_start().await.expect("an answer"));
    }
}

#[tokio::test]
async fn a_name_is_one_users() {
    for home in homes("user_name").await {
        let store = &home.store;
        store
            .add_user(&at(1), "Jula", Role::Builder, "hash")
            .await
            .expect("made");
        let again = store.add_user(&at(2), "Jula", Role::Owner, "other").await;
        assert!(matches!(again, Err(StoreError::Exists { .. })), "{again:?}");
        let user = store
            .user_named("Jula")
            .await
            .expect("an answer")
            .expect("a user");
        assert_eq!((user.role, user.password.as_str()), (Role::Builder, "hash"));
        assert!(store.user_named("jula").await.expect("an answer").is_none());
    }
}

#[tokio::test]
async fn no_event_carries_a_password_or_a_token() {
    for home in homes("secrets").await {
        let store = &home.store;
        let user = store
            .add_first_user(&at(1), "Jula", "argon-hash")
            .await
            .expect("made");
        store
            .set_password(&at(2), user.id, "argon-other")
            .await
            .expect("set");
        store
            .begin_session(&at(3), user.id, "tok-en", 99)
            .await
            .expect("begun");
        store.end_session(&at(4), "tok-en").await.expect("ended");
        let events = store.events_after(0, 99).await.expect("events");
        assert_eq!(events.len(), 4);
        let text = serde_json::to_string(&events).expect("JSON");
        assert!(
            !text.contains("argon") && !text.contains("tok-en"),
            "{text}"
        );
    }
}

#[tokio::test]
async fn a_session_lasts_until_its_end() {
    for home in homes("session").await {
        let store = &home.store;
        let user = store
            .add_first_user(&at(1), "Jula", "hash")
            .await
            .expect("made");
        store
            .begin_session(&at(1000), user.id, "one", 2000)
            .await
            .expect("begun");
        store
            .begin_session(&at(1000), user.id, "two", 9000)
            .await
            .expect("begun");
        let whose = async |token: &str, now_ms| {
            let user = store.session_user(token, now_ms).await.expect("an answer");
            user.map(|user| user.name)
        };
        assert_eq!(whose("one", 1999).await.as_deref(), Some("Jula"));
        assert_eq!(whose("one", 2000).await, None);
        assert_eq!(whose("three", 1500).await, None);
        store.end_session(&at(1500), "two").await.expect("ended");
        assert_eq!(whose("two", 1500).await, None);
        store
            .set_password(&at(1600), user.id, "new")
            .await
            .expect("set");
        assert_eq!(
            whose("one", 1700).await,
            None,
            "a new password ends sessions"
        );
    }
}

#[tokio::test]
async fn units_are_each_users_own() {
    for home in homes("units").await {
        let store = &home.store;
        let a = store
            .add_user(&at(1), "a", Role::Builder, "h")
            .await
            .expect("made");
        let b = store
            .add_user(&at(1), "b", Role::Builder, "h")
            .await
            .expect("made");
        let set = store.set_units(&at(2), a.id, Units::Us).await.expect("set");
        assert_eq!(set.units, Units::Us);
        let other = store.user_named(&b.name).await.expect("an answer");
        assert_eq!(other.expect("a user").units, Units::Metric);
    }
}

#[tokio::test]
async fn a_commission_is_numbered_and_changed_by_version() {
    for home in homes("commission").await {
        let store = &home.store;
        let brief = json!({ "wish": "a gorge" });
        let one = store
            .add_commission(&at(1), "Brandt", Some("by phone"), brief.clone())
            .await;
        let one = one.expect("begun");
        let two = store
            .add_commission(&at(2), "Okoro", None, brief)
            .await
            .expect("begun");
        assert_eq!((one.number, two.number), (1, 2));
        assert_eq!(one.state, CommissionState::Enquiry);
        let change = CommissionChange {
            state: Some(CommissionState::Agreed),
            contact: Some(None),
            ..CommissionChange::default()
        };
        let changed = store
            .change_commission(&at(3), one.id, 1, change.clone())
            .await;
        let changed = changed.expect("changed");
        assert_eq!(
            (changed.state, changed.contact),
            (CommissionState::Agreed, None)
        );
        let late = store.change_commission(&at(4), one.id, 1, change).await;
        assert!(matches!(late, Err(StoreError::Stale { current: 2, .. })));
        let list = store.commissions().await.expect("a list");
        let customers: Vec<_> = list.iter().map(|c| c.customer.as_str()).collect();
        assert_eq!(customers, ["Brandt", "Okoro"], "the last change first");
        let history = store
            .history("commission", &one.id.to_string(), 1)
            .await
            .expect("events");
        assert_eq!(
            history[0].before,
            json!({ "state": "enquiry", "contact": "by phone", "changed_at_ms": 1, "version": 1 })
        );
        let nobody = store.add_commission(&at(5), " ", None, json!(null)).await;
        assert!(matches!(
            nobody,
            Err(StoreError::Refused {
                path: "/customer",
                ..
            })
        ));
    }
}
