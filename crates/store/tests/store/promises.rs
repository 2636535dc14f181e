//! A piece is never promised twice, and a stale write never wins.

use store::{Hold, PieceChange, PieceState, StoreError};

use crate::home::{at, homes, stone, taken_in};

#[tokio::test]
async fn of_many_who_hold_one_piece_at_once_one_gets_it() {
    for home in homes("held_once").await {
        let tag = taken_in(&home, stone()).await.card.tag;
        let mut commissions = Vec::new();
        for n in 0..8 {
            let customer = format!("customer {n}");
            let begun = home
                .store
                .add_commission(&at(1), &customer, None, serde_json::Value::Null)
                .await;
            commissions.push(begun.expect("a commission").id);
        }
        let tasks: Vec<_> = commissions
            .iter()
            .map(|commission| {
                let (store, hold) = (
                    home.store.clone(),
                    Hold {
                        commission: Some(*commission),
                        until_ms: Some(99),
                    },
                );
                tokio::spawn(async move { store.hold_piece(&at(5), tag, 1, hold).await })
            })
            .collect();
        let mut winners = Vec::new();
        for (task, commission) in tasks.into_iter().zip(&commissions) {
            match task.await.expect("no panic") {
                Ok(_) => winners.push(*commission),
                Err(StoreError::Taken { state, .. }) => assert_eq!(state, "held"),
                Err(other) => panic!("{other}"),
            }
        }
        assert_eq!(winners.len(), 1);
        let hold = home.store.piece(tag).await.expect("it").card.hold;
        assert_eq!(hold.expect("a hold").commission, Some(winners[0]));
    }
}

#[tokio::test]
async fn two_stores_on_one_database_sell_a_piece_once() {
    for home in homes("sold_once").await {
        let tag = taken_in(&home, stone()).await.card.tag;
        let other = store::Store::open(&home.place)
            .await
            .expect("a second store");
        let sell = |store: store::Store| {
            tokio::spawn(async move { store.sell_piece(&at(5), tag, 1, None).await })
        };
        let (one, two) = (sell(home.store.clone()), sell(other));
        let results = [one.await.expect("no panic"), two.await.expect("no panic")];
        let n_sold = results.iter().filter(|r| r.is_ok()).count();
        let n_taken = results
            .iter()
            .filter(|r| matches!(r, Err(StoreError::Taken { state: "sold", .. })))
            .count();
        assert_eq!((n_sold, n_taken), (1, 1), "{results:?}");
        assert_eq!(home.store.piece(tag).await.expect("it").card.version, 2);
    }
}

#[tokio::test]
async fn a_held_piece_is_sold_to_its_holder_only() {
    for home in homes("holder").await {
        let store = &home.store;
        let tag = taken_in(&home, stone()).await.card.tag;
        let commission = store
            .add_commission(&at(1), "someone", None, serde_json::Value::Null)
            .await
            .expect("a commission")
            .id;
        let hold = Hold {
            commission: Some(commission),
            until_ms: None,
        };
        let held = store.hold_piece(&at(2), tag, 1, hold).await.expect("held");
        assert_eq!(held.card.state, PieceState::Held);
        for buyer in [None, Some(commission + 1)] {
            let refused = store.sell_piece(&at(3), tag, 2, buyer).await;
            assert!(matches!(
                refused,
                Err(StoreError::Taken { state: "held", .. })
            ));
        }
        let sold = store.sell_piece(&at(4), tag, 2, Some(commission)).await;
        let sold = sold.expect("sold").card;
        assert_eq!((sold.state, sold.hold), (PieceState::Sold, None));
    }
}

#[tokio::test]
async fn a_piece_that_is_let_go_is_what_it_was() {
    for home in homes("let_go").await {
        let store = &home.store;
        let mut shown = stone();
        shown.state = PieceState::OnDisplay;
        let tag = taken_in(&home, shown).await.card.tag;
        let hold = Hold {
            commission: None,
            until_ms: Some(5000),
        };
        store.hold_piece(&at(2), tag, 1, hold).await.expect("held");
        let free = store.let_go(&at(3), tag, 2).await.expect("let go").card;
        assert_eq!((free.state, free.hold), (PieceState::OnDisplay, None));
        let again = store.let_go(&at(4), tag, 3).await;
        assert!(matches!(again, Err(StoreError::Refused { .. })));
    }
}

#[tokio::test]
async fn a_stale_change_is_refused_with_the_current_version() {
    for home in homes("stale").await {
        let store = &home.store;
        let tag = taken_in(&home, stone()).await.card.tag;
        let to = |place: &str| PieceChange {
            place: Some(place.to_owned()),
            ..PieceChange::default()
        };
        store
            .change_piece(&at(2), tag, 1, to("B"))
            .await
            .expect("first");
        let late = store.change_piece(&at(3), tag, 1, to("C")).await;
        assert!(matches!(
            late,
            Err(StoreError::Stale {
                noun: "piece",
                current: 2,
                ..
            })
        ));
        assert_eq!(store.piece(tag).await.expect("it").card.place, "B");
        assert_eq!(store.last_event().await.expect("events"), 2);
    }
}

#[tokio::test]
async fn a_sold_piece_can_be_corrected_but_not_held() {
    for home in homes("sold_corrected").await {
        let store = &home.store;
        let tag = taken_in(&home, stone()).await.card.tag;
        store.sell_piece(&at(2), tag, 1, None).await.expect("sold");
        let state = |state| PieceChange {
            state: Some(state),
            ..PieceChange::default()
        };
        let held = store
            .change_piece(&at(3), tag, 2, state(PieceState::Held))
            .await;
        assert!(matches!(held, Err(StoreError::Taken { .. })));
        let back = store
            .change_piece(&at(4), tag, 2, state(PieceState::Ready))
            .await;
        assert_eq!(back.expect("back").card.state, PieceState::Ready);
    }
}
