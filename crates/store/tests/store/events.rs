//! Events: in order, without gaps, heard only when true.

use serde_json::{Value, json};
use store::{Live, StoreError};

use crate::home::{at, branch, homes, stone, taken_in};

#[tokio::test]
async fn events_resume_after_an_id() {
    for home in homes("events_after").await {
        for n in 0..5 {
            home.store
                .set(&at(n), "n", None, json!(n))
                .await
                .expect("set");
        }
        let ids = async |id, limit| -> Vec<i64> {
            let events = home.store.events_after(id, limit).await;
            events.expect("events").iter().map(|e| e.id).collect()
        };
        assert_eq!(ids(0, 99).await, [1, 2, 3, 4, 5]);
        assert_eq!(ids(2, 2).await, [3, 4]);
        assert!(ids(5, 9).await.is_empty());
        assert_eq!(home.store.last_event().await.expect("last"), 5);
    }
}

#[tokio::test]
async fn a_listener_hears_what_became_true_and_nothing_that_was_refused() {
    for home in homes("listener").await {
        let mut heard = home.store.listen();
        taken_in(&home, stone()).await;
        let mut bad = stone();
        bad.photographs = vec![99];
        assert!(home.store.take_in(&at(1), bad).await.is_err());
        taken_in(&home, branch()).await;
        for (id, subject) in [(1, "S-0001"), (2, "W-0001")] {
            let Ok(Live::Event(event)) = heard.try_recv() else {
                panic!("an event was missed");
            };
            assert_eq!((event.id, event.subject.as_str()), (id, subject));
            let kept = home.store.events_after(id - 1, 1).await.expect("events");
            assert_eq!(*event, kept[0]);
        }
        assert!(heard.try_recv().is_err());
    }
}

#[tokio::test]
async fn listeners_hear_events_of_many_writers_in_their_order() {
    for home in homes("order").await {
        let mut heard = home.store.listen();
        let tasks: Vec<_> = (0..30)
            .map(|n| {
                let store = home.store.clone();
                tokio::spawn(
                    async move { store.set(&at(n), &format!("s{n}"), None, Value::Null).await },
                )
            })
            .collect();
        for task in tasks {
            task.await.expect("no panic").expect("set");
        }
        for id in 1..=30 {
            let Ok(Live::Event(event)) = heard.try_recv() else {
                panic!("event {id} was missed");
            };
            assert_eq!(event.id, id);
        }
    }
}

#[tokio::test]
async fn a_change_goes_on_to_its_end_when_nobody_waits_for_it() {
    for home in homes("not_awaited").await {
        let mut heard = home.store.listen();
        let store = home.store.clone();
        let task = tokio::spawn(async move { store.set(&at(1), "a", None, json!(1)).await });
        task.abort();
        let was_set = !matches!(task.await, Err(e) if e.is_cancelled());
        // Aborted or not, the next change works, and what is kept is what was heard.
        home.store
            .set(&at(2), "b", None, json!(2))
            .await
            .expect("set");
        let kept = home.store.events_after(0, 9).await.expect("events");
        let mut n_heard = 0;
        while let Ok(Live::Event(event)) = heard.try_recv() {
            assert_eq!(*event, kept[n_heard]);
            n_heard += 1;
        }
        assert_eq!(n_heard, kept.len());
        assert!(kept.len() == 2 || !was_set);
    }
}

#[tokio::test]
async fn listeners_hear_other_processes_in_order_and_nothing_twice() {
    for home in homes("catch_up").await {
        let other = store::Store::open(&home.place)
            .await
            .expect("a second store");
        let mut heard = home.store.listen();
        let set = async |store: &store::Store, n: i64| {
            store.set(&at(n), "n", None, json!(n)).await.expect("set");
        };
        set(&other, 1).await;
        set(&other, 2).await;
        set(&home.store, 3).await;
        set(&other, 4).await;
        home.store.catch_up().await.expect("caught up");
        home.store.catch_up().await.expect("caught up");
        for id in 1..=4 {
            let Ok(Live::Event(event)) = heard.try_recv() else {
                panic!("event {id} was missed");
            };
            assert_eq!(event.id, id);
        }
        assert!(heard.try_recv().is_err());
    }
}

#[tokio::test]
async fn nothing_is_missing_quietly() {
    for home in homes("missing").await {
        let store = &home.store;
        let tag = "S-0999".parse().expect("a tag");
        let missing = [
            store.piece(tag).await.err(),
            store.layout(9).await.err(),
            store.job(9).await.err(),
            store.upload(9).await.err(),
            store.commission(9).await.err(),
            store.lot(9).await.err(),
            store.revision(9, 9).await.err(),
            store.photograph(tag, 9).await.err(),
        ];
        for error in missing {
            assert!(
                matches!(error, Some(StoreError::Missing { .. })),
                "{error:?}"
            );
        }
    }
}
