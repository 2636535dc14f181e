//! Layouts: steps, undo and redo, revisions.

use proptest::prelude::*;
use serde_json::{Value, json};
use store::{Layout, NewLayout, Store, StoreError};

use crate::home::{Home, at, homes, sqlite, stone, taken_in};

fn composed(n: i64) -> Value {
    json!({ "title": "Gorge", "piece": [{ "tag": "S-0001", "at_mm": [n, 0] }] })
}

async fn begun(store: &Store) -> Layout {
    let new = NewLayout {
        title: "Gorge".to_owned(),
        commission: None,
        composition: composed(0),
    };
    store.add_layout(&at(1), new).await.expect("a layout")
}

#[tokio::test]
async fn steps_are_undone_and_redone_after_a_restart() {
    for home in homes("steps").await {
        let id = begun(&home.store).await.id;
        for (n, label) in [(1, "move S-0001"), (2, "turn S-0001")] {
            let step = home.store.compose(&at(n), id, n, label, &composed(n)).await;
            step.expect("a step");
        }
        let home: Home = home.reopened().await;
        let layout = home.store.layout(id).await.expect("it is there");
        assert_eq!(layout.undo.as_deref(), Some("turn S-0001"));
        assert_eq!(layout.redo, None);
        let undone = home.store.undo(&at(9), id, 3).await.expect("undone");
        assert_eq!(undone.composition, composed(1));
        assert_eq!(undone.redo.as_deref(), Some("turn S-0001"));
        let home = home.reopened().await;
        let redone = home.store.redo(&at(9), id, 4).await.expect("redone");
        assert_eq!(redone.composition, composed(2));
        assert_eq!((redone.version, redone.redo), (5, None));
        let more = home.store.redo(&at(9), id, 5).await;
        assert!(matches!(more, Err(StoreError::Refused { .. })));
    }
}

#[tokio::test]
async fn what_an_edit_after_undo_drops_is_still_in_the_events() {
    for home in homes("dropped").await {
        let store = &home.store;
        let id = begun(store).await.id;
        store
            .compose(&at(1), id, 1, "one", &composed(1))
            .await
            .expect("one");
        store.undo(&at(2), id, 2).await.expect("undone");
        let other = store
            .compose(&at(3), id, 3, "two", &composed(2))
            .await
            .expect("two");
        assert_eq!((other.undo.as_deref(), other.redo), (Some("two"), None));
        let back = store.undo(&at(4), id, 4).await.expect("undone");
        assert_eq!((back.composition, back.undo), (composed(0), None));
        let history = store
            .history("layout", &id.to_string(), 99)
            .await
            .expect("events");
        let deeds: Vec<_> = history.iter().rev().map(|e| e.deed.as_str()).collect();
        assert_eq!(deeds, ["begun", "one", "undo: one", "two", "undo: two"]);
        assert_eq!(history[3].after["composition"], composed(1));
        assert_eq!(history[3].before["composition"], composed(0));
    }
}

#[tokio::test]
async fn revisions_are_numbered_kept_and_gone_back_to() {
    for home in homes("revisions").await {
        let store = &home.store;
        let id = begun(store).await.id;
        let kept = store
            .keep_revision(&at(2), id, 1, "first idea")
            .await
            .expect("kept");
        assert_eq!(kept.version, 1, "keeping changes nothing");
        store
            .compose(&at(3), id, 1, "move", &composed(5))
            .await
            .expect("a step");
        let kept = store
            .keep_revision(&at(4), id, 2, "second")
            .await
            .expect("kept");
        let numbers: Vec<_> = kept
            .revisions
            .iter()
            .map(|r| (r.number, r.version))
            .collect();
        assert_eq!(numbers, [(1, 1), (2, 2)]);
        let picture = store.objects().put("png".into()).await.expect("kept").id;
        store
            .set_revision_picture(&at(5), id, 1, &picture)
            .await
            .expect("drawn");
        let first = store.revision(id, 1).await.expect("it");
        assert_eq!(
            (first.card.picture, first.composition),
            (Some(picture), composed(0))
        );
        let back = store
            .restore_revision(&at(6), id, 1, 2)
            .await
            .expect("back");
        assert_eq!(back.composition, composed(0));
        assert_eq!(back.undo.as_deref(), Some("back to revision 1"));
        let undone = store.undo(&at(7), id, 3).await.expect("undone");
        assert_eq!(undone.composition, composed(5));
    }
}

#[tokio::test]
async fn a_stale_step_is_refused_and_leaves_the_layout_alone() {
    for home in homes("stale_step").await {
        let store = &home.store;
        let id = begun(store).await.id;
        store
            .compose(&at(1), id, 1, "one", &composed(1))
            .await
            .expect("one");
        for refused in [
            store.compose(&at(2), id, 1, "late", &composed(9)).await,
            store.undo(&at(2), id, 1).await,
            store.keep_revision(&at(2), id, 1, "late").await,
        ] {
            assert!(matches!(
                refused,
                Err(StoreError::Stale {
                    noun: "layout",
                    current: 2,
                    ..
                })
            ));
        }
        let layout = store.layout(id).await.expect("it");
        assert_eq!((layout.composition, layout.version), (composed(1), 2));
    }
}

#[tokio::test]
async fn whether_it_stands_is_forgotten_with_the_next_step() {
    for home in homes("stands").await {
        let store = &home.store;
        let tag = taken_in(&home, stone()).await.card.tag;
        let id = begun(store).await.id;
        store.set_stands(&at(2), id, 1, true).await.expect("noted");
        let card = store.layouts().await.expect("a list").remove(0);
        assert_eq!(
            (card.stands, card.n_pieces, card.version),
            (Some(true), 1, 1)
        );
        assert_eq!(store.layouts_of_piece(tag).await.expect("a list")[0].id, id);
        store
            .compose(
                &at(3),
                id,
                1,
                "clear",
                &json!({ "title": "Ravine", "piece": [] }),
            )
            .await
            .expect("a step");
        let card = store.layouts().await.expect("a list").remove(0);
        assert_eq!((card.stands, card.n_pieces), (None, 0));
        assert_eq!(card.title, "Ravine");
        assert!(
            store
                .layouts_of_piece(tag)
                .await
                .expect("a list")
                .is_empty()
        );
        let late = store.set_stands(&at(4), id, 1, true).await;
        assert!(matches!(late, Err(StoreError::Stale { .. })));
    }
}

/// What a person does to a layout.
#[derive(Debug, Clone)]
enum Deed {
    Compose(i64),
    Undo,
    Redo,
    Restart,
}

fn deeds() -> impl Strategy<Value = Vec<Deed>> {
    let deed = prop_oneof![
        3 => (1i64..1000).prop_map(Deed::Compose),
        3 => Just(Deed::Undo),
        2 => Just(Deed::Redo),
        1 => Just(Deed::Restart),
    ];
    prop::collection::vec(deed, 1..25)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, ..ProptestConfig::default() })]

    /// The line of steps is that of a list with a mark in it, whatever is done.
    #[test]
    fn undo_and_redo_walk_the_line_of_steps(deeds in deeds()) {
        let runtime = tokio::runtime::Runtime::new().expect("a runtime");
        runtime.block_on(walk(deeds))?;
    }
}

async fn walk(deeds: Vec<Deed>) -> Result<(), TestCaseError> {
    let mut home = sqlite().await;
    let mut layout = begun(&home.store).await;
    let (mut line, mut mark) = (vec![0i64], 0usize);
    for deed in deeds {
        let (id, seen) = (layout.id, layout.version);
        let result = match deed {
            Deed::Compose(n) => {
                line.truncate(mark + 1);
                line.push(n);
                mark += 1;
                let label = n.to_string();
                home.store
                    .compose(&at(1), id, seen, &label, &composed(n))
                    .await
            }
            Deed::Undo if mark == 0 => {
                prop_assert!(home.store.undo(&at(1), id, seen).await.is_err());
                home.store.layout(id).await
            }
            Deed::Undo => {
                mark -= 1;
                home.store.undo(&at(1), id, seen).await
            }
            Deed::Redo if mark + 1 == line.len() => {
                prop_assert!(home.store.redo(&at(1), id, seen).await.is_err());
                home.store.layout(id).await
            }
            Deed::Redo => {
                mark += 1;
                home.store.redo(&at(1), id, seen).await
            }
            Deed::Restart => {
                home = home.reopened().await;
                home.store.layout(id).await
            }
        };
        layout = result.map_err(|e| TestCaseError::fail(e.to_string()))?;
        prop_assert_eq!(&layout.composition, &composed(line[mark]));
        prop_assert_eq!(
            layout.undo.clone(),
            (mark > 0).then(|| line[mark].to_string())
        );
        prop_assert_eq!(layout.redo.clone(), line.get(mark + 1).map(i64::to_string));
    }
    Ok(())
}
