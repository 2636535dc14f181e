//! Pieces: taken in, changed, listed.

use futures_util::TryStreamExt;
use serde_json::{Value, json};
use store::{
    GradeMeasure, GradeRule, MassCertainty, PieceChange, PieceFilter, PieceSort, PieceState,
    StoreError, UploadKind,
};
use workshop::PieceKind;

use crate::home::{at, branch, euros, homes, stone, taken_in};

#[tokio::test]
async fn a_piece_is_read_as_it_was_taken_in() {
    for home in homes("taken_in").await {
        let taken = taken_in(&home, stone()).await;
        let home = home.reopened().await;
        let read = home.store.piece(taken.card.tag).await.expect("it is there");
        assert_eq!(read, taken);
        assert_eq!(read.card.tag.to_string(), "S-0001");
        assert_eq!(read.card.size_mm, [210.0, 150.0, 90.0]);
        assert_eq!(read.card.outline_mm[2], [100.25, 95.0]);
        assert_eq!(read.card.price, Some(euros(4250)));
        assert_eq!(read.measure, json!({ "volume_l": 2.02 }));
        assert_eq!(read.card.version, 1);
    }
}

#[tokio::test]
async fn each_kind_counts_its_own_numbers_past_those_that_were_given() {
    for home in homes("numbers").await {
        let mut given = stone();
        given.tag = Some("S-0147".parse().expect("a tag"));
        taken_in(&home, given.clone()).await;
        let again = home.store.take_in(&at(1), given).await;
        assert!(matches!(again, Err(StoreError::Exists { .. })), "{again:?}");
        let mut tags = Vec::new();
        for piece in [stone(), branch(), stone(), branch()] {
            tags.push(taken_in(&home, piece).await.card.tag.to_string());
        }
        assert_eq!(tags, ["S-0148", "W-0001", "S-0149", "W-0002"]);
    }
}

#[tokio::test]
async fn pieces_taken_in_at_once_all_get_numbers_of_their_own() {
    for home in homes("numbers_at_once").await {
        let tasks: Vec<_> = (0..20)
            .map(|n| {
                let store = home.store.clone();
                tokio::spawn(async move { store.take_in(&at(n), stone()).await })
            })
            .collect();
        let mut numbers = Vec::new();
        for task in tasks {
            let piece = task.await.expect("no panic").expect("it is taken in");
            numbers.push(piece.card.tag.number());
        }
        numbers.sort_unstable();
        assert_eq!(numbers, (1..=20).collect::<Vec<u32>>());
    }
}

#[tokio::test]
async fn a_refused_piece_leaves_nothing_behind() {
    for home in homes("refused").await {
        let mut bad = stone();
        bad.photographs = vec![7];
        let refused = home.store.take_in(&at(1), bad).await;
        assert!(matches!(
            refused,
            Err(StoreError::Missing { noun: "upload", .. })
        ));
        assert_eq!(home.store.last_event().await.expect("events"), 0);
        assert_eq!(taken_in(&home, stone()).await.card.tag.number(), 1);
    }
}

#[tokio::test]
async fn a_change_says_in_its_event_what_it_changed_and_nothing_else() {
    for home in homes("change_event").await {
        let tag = taken_in(&home, stone()).await.card.tag;
        let change = PieceChange {
            place: Some("shelf B".to_owned()),
            price: Some(None),
            mass_kg: Some((5.25, MassCertainty::Measured)),
            ..PieceChange::default()
        };
        let changed = home.store.change_piece(&at(2000), tag, 1, change).await;
        let changed = changed.expect("it is changed");
        assert_eq!(changed.card.version, 2);
        let history = home.store.history("piece", &tag.to_string(), 10).await;
        let event = history.expect("a history").remove(0);
        assert_eq!((event.at_ms, event.who.as_str()), (2000, "Jula"));
        assert_eq!(event.what, "piece.changed");
        let price = json!({ "minor": 4250, "currency": "EUR" });
        assert_eq!(
            event.before,
            json!({ "place": "shelf A, row 1", "price": price, "mass_kg": 5.3, "version": 1 })
        );
        assert_eq!(
            event.after,
            json!({ "place": "shelf B", "price": null, "mass_kg": 5.25, "version": 2 })
        );
    }
}

#[tokio::test]
async fn a_change_of_nothing_is_no_event() {
    for home in homes("no_change").await {
        let tag = taken_in(&home, stone()).await.card.tag;
        let change = PieceChange {
            place: Some("shelf A, row 1".to_owned()),
            ..PieceChange::default()
        };
        let same = home.store.change_piece(&at(2), tag, 1, change).await;
        assert_eq!(same.expect("fine").card.version, 1);
        assert_eq!(home.store.last_event().await.expect("events"), 1);
    }
}

#[tokio::test]
async fn one_bad_change_of_many_undoes_them_all() {
    for home in homes("all_or_nothing").await {
        let a = taken_in(&home, stone()).await.card.tag;
        let b = taken_in(&home, stone()).await.card.tag;
        let to = |place: &str| PieceChange {
            place: Some(place.to_owned()),
            ..PieceChange::default()
        };
        let changes = vec![(a, 1, to("here")), (b, 9, to("there"))];
        let refused = home.store.change_pieces(&at(2), changes).await;
        assert!(matches!(refused, Err(StoreError::Stale { current: 1, .. })));
        assert_eq!(
            home.store.piece(a).await.expect("a").card.place,
            "shelf A, row 1"
        );
        let changes = vec![(a, 1, to("here")), (b, 1, to("shelf A, row 1"))];
        assert_eq!(
            home.store
                .change_pieces(&at(2), changes)
                .await
                .expect("fine"),
            1
        );
    }
}

#[tokio::test]
async fn lists_are_narrowed_sorted_and_paged() {
    for home in homes("lists").await {
        for n in 0..7 {
            let mut piece = stone();
            piece.measured.size_mm[0] = 300.0 - 10.0 * f64::from(n);
            piece.price = (n != 3).then(|| euros(1000 + 100 * i64::from(n)));
            taken_in(&home, piece).await;
        }
        taken_in(&home, branch()).await;
        let list = async |filter: PieceFilter, sort, descending, offset, limit| {
            let list = home
                .store
                .pieces(&filter, sort, descending, offset, limit)
                .await;
            let list = list.expect("a list");
            let tags: Vec<String> = list.pieces.iter().map(|p| p.card_number()).collect();
            (list.total, tags.join(" "))
        };
        let all = PieceFilter::default;
        let of = |total: i64, tags: &str| (total, tags.to_owned());
        assert_eq!(
            list(all(), PieceSort::Tag, false, 0, 3).await,
            of(8, "S1 S2 S3")
        );
        assert_eq!(
            list(all(), PieceSort::Tag, true, 0, 2).await,
            of(8, "W1 S7")
        );
        assert_eq!(
            list(all(), PieceSort::Long, false, 1, 2).await,
            of(8, "S6 S5")
        );
        assert_eq!(
            list(all(), PieceSort::Price, false, 5, 9).await,
            of(8, "S7 S4 W1")
        );
        assert_eq!(
            list(all(), PieceSort::Price, true, 0, 2).await,
            of(8, "S7 S6")
        );
        let mut narrow = all();
        narrow.kind = Some(PieceKind::Stone);
        narrow.long_min_mm = Some(250.0);
        narrow.long_max_mm = Some(270.0);
        assert_eq!(
            list(narrow, PieceSort::Tag, false, 0, 9).await,
            of(3, "S4 S5 S6")
        );
        let mut dear = all();
        dear.price_min_minor = Some(1500);
        assert_eq!(
            list(dear, PieceSort::Tag, false, 0, 9).await,
            of(2, "S6 S7")
        );
    }
}

trait CardNumber {
    fn card_number(&self) -> String;
}

impl CardNumber for store::PieceCard {
    fn card_number(&self) -> String {
        format!("{}{}", self.tag.kind().letter(), self.tag.number())
    }
}

#[tokio::test]
async fn words_are_found_in_tag_material_place_and_notes_and_mean_themselves() {
    for home in homes("words").await {
        let mut noted = stone();
        noted.notes = "Riß, 50% moss_grown".to_owned();
        taken_in(&home, noted).await;
        taken_in(&home, branch()).await;
        for (text, total) in [
            ("", 2),
            ("s-0001", 1),
            ("CLINT shelf", 1),
            ("clint rack", 0),
            ("riß", 1),
            ("50%", 1),
            ("5%0", 0),
            ("moss_grown", 1),
            ("mossXgrown", 0),
            ("ravelin root", 1),
            ("'; DROP TABLE pieces", 0),
        ] {
            let filter = PieceFilter {
                text: text.to_owned(),
                ..PieceFilter::default()
            };
            let list = home
                .store
                .pieces(&filter, PieceSort::Tag, false, 0, 9)
                .await;
            assert_eq!(list.expect("a list").total, total, "{text:?}");
        }
    }
}

#[tokio::test]
async fn a_text_that_cannot_be_kept_is_refused_on_every_database() {
    for home in homes("nul").await {
        let mut bad = stone();
        bad.notes = "nul \0 here".to_owned();
        let refused = home.store.take_in(&at(1), bad).await;
        assert!(matches!(
            refused,
            Err(StoreError::Refused { path: "/notes", .. })
        ));
        let filter = PieceFilter {
            text: "\0".to_owned(),
            ..PieceFilter::default()
        };
        match home
            .store
            .pieces(&filter, PieceSort::Tag, false, 0, 9)
            .await
        {
            Ok(list) => assert_eq!(list.total, 0),
            Err(error) => assert!(matches!(error, StoreError::Refused { .. }), "{error}"),
        }
    }
}

#[tokio::test]
async fn a_measure_that_is_no_number_is_refused() {
    for home in homes("nan").await {
        for spoil in [
            |p: &mut store::TakeIn| p.mass_kg = f64::NAN,
            |p: &mut store::TakeIn| p.friction = f64::INFINITY,
            |p: &mut store::TakeIn| p.density_kg_m3 = -1.0,
            |p: &mut store::TakeIn| p.measured.size_mm[1] = 0.0,
            |p: &mut store::TakeIn| p.measured.outline_mm[0][1] = f64::NAN,
            |p: &mut store::TakeIn| p.material = " ".to_owned(),
        ] {
            let mut bad = stone();
            spoil(&mut bad);
            let refused = home.store.take_in(&at(1), bad).await;
            assert!(
                matches!(refused, Err(StoreError::Refused { .. })),
                "{refused:?}"
            );
        }
        assert_eq!(home.store.last_event().await.expect("events"), 0);
    }
}

#[tokio::test]
async fn facets_are_counted_under_all_other_choices() {
    for home in homes("facets").await {
        taken_in(&home, stone()).await;
        taken_in(&home, stone()).await;
        let mut elsewhere = branch();
        elsewhere.state = PieceState::InPreparation;
        taken_in(&home, elsewhere).await;
        let filter = PieceFilter {
            materials: vec!["Tarnholt clint".to_owned()],
            ..PieceFilter::default()
        };
        let facets = home.store.facets(&filter).await.expect("facets");
        let materials: Vec<_> = facets
            .materials
            .iter()
            .map(|m| (m.name.as_str(), m.kind, m.count))
            .collect();
        assert_eq!(
            materials,
            [
                ("Ravelin root", PieceKind::Wood, 1),
                ("Tarnholt clint", PieceKind::Stone, 2)
            ]
        );
        let states: Vec<_> = facets
            .states
            .iter()
            .map(|f| (f.name.as_str(), f.count))
            .collect();
        assert_eq!(states, [("ready", 2)]);
        assert!(facets.grades.is_empty());
    }
}

#[tokio::test]
async fn grades_follow_the_rules_and_the_measures() {
    for home in homes("grades").await {
        let tag = taken_in(&home, stone()).await.card.tag;
        let rule = |name: &str, measure, from, below| GradeRule {
            kind: PieceKind::Stone,
            name: name.to_owned(),
            measure,
            from,
            below,
        };
        let rules = [
            rule("small", GradeMeasure::LongMm, None, Some(210.0)),
            rule("middle", GradeMeasure::LongMm, Some(210.0), Some(300.0)),
            rule("heavy", GradeMeasure::MassKg, Some(1.0), None),
        ];
        let set = home.store.set_grades(&at(5), 0, &rules).await.expect("set");
        assert_eq!((set.version, set.rules.len()), (1, 3));
        let grade = async || home.store.piece(tag).await.expect("it").card.grade;
        assert_eq!(grade().await.as_deref(), Some("middle"));
        home.store
            .set_grades(&at(6), 1, &rules[2..])
            .await
            .expect("set again");
        assert_eq!(grade().await.as_deref(), Some("heavy"));
        let light = PieceChange {
            mass_kg: Some((0.9, MassCertainty::Measured)),
            ..PieceChange::default()
        };
        let light = home.store.change_piece(&at(7), tag, 1, light).await;
        assert_eq!(light.expect("changed").card.grade, None);
        let stale = home.store.set_grades(&at(8), 1, &[]).await;
        assert!(matches!(stale, Err(StoreError::Stale { current: 2, .. })));
        let empty = home
            .store
            .set_grades(
                &at(8),
                2,
                &[rule("none", GradeMeasure::LongMm, Some(3.0), Some(3.0))],
            )
            .await;
        assert!(matches!(empty, Err(StoreError::Refused { .. })));
    }
}

#[tokio::test]
async fn fit_search_gets_every_piece_that_is_not_sold() {
    for home in homes("fit").await {
        let kept = taken_in(&home, stone()).await.card.tag;
        let sold = taken_in(&home, branch()).await.card.tag;
        home.store
            .sell_piece(&at(2), sold, 1, None)
            .await
            .expect("sold");
        let pieces: Vec<_> = home
            .store
            .pieces_for_fit()
            .try_collect()
            .await
            .expect("all pieces");
        assert_eq!(pieces.len(), 1);
        assert_eq!(pieces[0].tag, kept);
        assert_eq!(pieces[0].fit, [0, 1, 2, 254, 255]);
        let one = home.store.piece_for_fit(sold).await.expect("it");
        assert_eq!(one.state, PieceState::Sold);
    }
}

#[tokio::test]
async fn photographs_come_from_uploads_of_pictures_only() {
    for home in homes("photographs").await {
        let store = &home.store;
        let tag = taken_in(&home, stone()).await.card.tag;
        let kept = store.objects().put("jpeg".into()).await.expect("kept");
        let upload = async |kind| {
            let upload = store.add_upload(&at(1), "front.jpg", kind, &kept).await;
            upload.expect("an upload").id
        };
        let (picture, scan) = (
            upload(UploadKind::Photograph).await,
            upload(UploadKind::Scan).await,
        );
        let refused = store.add_photographs(&at(2), tag, &[picture, scan]).await;
        assert!(matches!(refused, Err(StoreError::Refused { .. })));
        assert!(store.piece(tag).await.expect("it").photographs.is_empty());
        let added = store
            .add_photographs(&at(3), tag, &[picture])
            .await
            .expect("added");
        assert_eq!(store.piece(tag).await.expect("it").photographs, added);
        assert_eq!(
            store.photograph(tag, added[0].id).await.expect("it"),
            added[0]
        );
        let event = store
            .history("piece", &tag.to_string(), 1)
            .await
            .expect("events");
        assert_eq!(event[0].deed, "photographed");
        assert_eq!(
            event[0].before,
            json!({ "photographs": Value::Array(vec![]) })
        );
    }
}
