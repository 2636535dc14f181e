//! Backups: everything comes back, and a damaged file changes nothing.

use std::{
    fs,
    path::{Path, PathBuf},
};

use bytes::Bytes;
use futures_util::TryStreamExt;
use serde_json::{Value, json};
use store::{
    Event, FitPiece, GradeMeasure, GradeRule, Hold, LotFields, NewJob, NewLayout, PieceFilter,
    PieceSort, Place, Store, StoreError, UploadKind,
};
use workshop::{PieceKind, Tag};

use crate::home::{Home, at, branch, euros, homes, sqlite, stone, taken_in};

/// Something of every noun.
async fn fill(home: &Home) {
    let store = &home.store;
    let user = store.add_first_user(&at(1), "Jula", "hash").await;
    let user = user.expect("a user");
    store
        .begin_session(&at(2), user.id, "token", 1 << 50)
        .await
        .expect("a session");
    store
        .set(
            &at(3),
            "shop",
            None,
            json!({ "name": "Ovenwade", "ü": [1, 2.5, null] }),
        )
        .await
        .expect("set");
    let rule = GradeRule {
        kind: PieceKind::Stone,
        name: "middle".to_owned(),
        measure: GradeMeasure::LongMm,
        from: Some(0.1 + 0.2),
        below: None,
    };
    store.set_grades(&at(4), 0, &[rule]).await.expect("set");
    let kept = store
        .objects()
        .put(Bytes::from(vec![7; 3_000_001]))
        .await
        .expect("kept");
    let upload = store
        .add_upload(&at(5), "Straße.jpg", UploadKind::Photograph, &kept)
        .await;
    let mut pictured = stone();
    pictured.photographs = vec![upload.expect("an upload").id];
    pictured.measured.scan = Some(kept.id.clone());
    pictured.mass_kg = 1.0 / 3.0;
    pictured.notes = "line\nbreak \"and\" \\ quotes".to_owned();
    let tag = taken_in(home, pictured).await.card.tag;
    taken_in(home, branch()).await;
    let brief = json!({ "wish": "a gorge" });
    let commission = store.add_commission(&at(6), "Brandt", None, brief).await;
    let commission = commission.expect("begun").id;
    let hold = Hold {
        commission: Some(commission),
        until_ms: Some(9000),
    };
    store.hold_piece(&at(7), tag, 1, hold).await.expect("held");
    let new = NewLayout {
        title: "Gorge".to_owned(),
        commission: Some(commission),
        composition: json!({ "title": "Gorge", "piece": [{ "tag": tag }] }),
    };
    let layout = store.add_layout(&at(8), new).await.expect("a layout").id;
    store
        .compose(&at(9), layout, 1, "clear", &json!({ "piece": [] }))
        .await
        .expect("a step");
    store.undo(&at(10), layout, 2).await.expect("undone");
    store
        .keep_revision(&at(11), layout, 3, "first")
        .await
        .expect("kept");
    store
        .set_revision_picture(&at(12), layout, 1, &kept.id)
        .await
        .expect("drawn");
    let lot = LotFields {
        kind: PieceKind::Wood,
        material: "Ravelin root".to_owned(),
        grade: "small".to_owned(),
        mass_kg: 12.5,
        price_per_kg: Some(euros(900)),
        place: "bin".to_owned(),
    };
    store.add_lot(&at(13), lot).await.expect("a lot");
    let job = NewJob {
        kind: "settle".to_owned(),
        subject: layout.to_string(),
        input: Value::Null,
    };
    store.add_job(&at(14), job).await.expect("a job");
}

/// All that can be read of a store, to compare two.
#[derive(Debug, PartialEq)]
struct All {
    events: Vec<Event>,
    pieces: Vec<store::Piece>,
    fits: Vec<FitPiece>,
    rest: Value,
    layout: store::Layout,
    revision: store::Revision,
    jobs: Vec<store::Job>,
    object: Bytes,
}

async fn all(store: &Store) -> All {
    let cards = store
        .pieces(&PieceFilter::default(), PieceSort::Tag, false, 0, 99)
        .await;
    let tags: Vec<Tag> = cards
        .expect("cards")
        .pieces
        .iter()
        .map(|card| card.tag)
        .collect();
    let mut pieces = Vec::new();
    for tag in tags {
        pieces.push(store.piece(tag).await.expect("a piece"));
    }
    let scan = pieces[0].scan.clone().expect("a scan");
    let mut fits: Vec<FitPiece> = store.pieces_for_fit().try_collect().await.expect("fits");
    fits.sort_by_key(|fit| fit.tag);
    let layout = store.layouts().await.expect("layouts")[0].id;
    All {
        events: store.events_after(0, 999).await.expect("events"),
        pieces,
        fits,
        rest: json!([
            store.setting("shop").await.expect("a setting"),
            store.grades().await.expect("grades"),
            store.lots().await.expect("lots"),
            store.commissions().await.expect("commissions"),
            store.user_named("Jula").await.expect("an answer"),
            store.upload(1).await.expect("an upload"),
        ]),
        layout: store.layout(layout).await.expect("the layout"),
        revision: store.revision(layout, 1).await.expect("the revision"),
        jobs: store.jobs(99).await.expect("jobs"),
        object: store.objects().get(&scan).await.expect("the scan"),
    }
}

async fn backed_up(home: &Home) -> PathBuf {
    let file = home.folder.path().join("backups").join("yard.tar");
    let done = home.store.backup(&file, 77).await.expect("backed up");
    assert_eq!(
        done.size_bytes,
        fs::metadata(&file).expect("the file").len()
    );
    assert_eq!(done.n_objects, 1);
    file
}

#[tokio::test]
async fn everything_comes_back_on_each_database() {
    for from in homes("backup_from").await {
        fill(&from).await;
        let wanted = all(&from.store).await;
        let file = backed_up(&from).await;
        for to in homes("backup_to").await {
            taken_in(&to, stone()).await;
            to.store.close().await;
            drop(to.store);
            let restored = Store::restore(&file, &to.place).await.expect("restored");
            assert_eq!((restored.made_at_ms, restored.n_objects), (77, 1));
            let store = Store::open(&to.place).await.expect("it opens");
            assert_eq!(all(&store).await, wanted);
            let signed_in = store.session_user("token", 1).await.expect("an answer");
            assert_eq!(signed_in, None, "everyone signs in again");
            // Counters came back: the next of everything is new.
            let tag = store
                .take_in(&at(20), stone())
                .await
                .expect("taken in")
                .card
                .tag;
            assert_eq!(tag.to_string(), "S-0002");
        }
    }
}

#[tokio::test]
async fn a_restored_folder_keeps_what_was_there_aside() {
    let from = sqlite().await;
    fill(&from).await;
    let file = backed_up(&from).await;
    let to = sqlite().await;
    taken_in(&to, branch()).await;
    to.store.close().await;
    drop(to.store);
    let restored = Store::restore(&file, &to.place).await.expect("restored");
    let aside = restored.kept_aside.expect("a folder");
    assert!(aside.join("lentic.db").exists());
    let fresh = tempfile::TempDir::new().expect("a folder");
    let place = Place::folder(fresh.path().join("new").display().to_string());
    let restored = Store::restore(&file, &place).await.expect("restored");
    assert_eq!(restored.kept_aside, None);
    Store::open(&place).await.expect("it opens");
}

/// Restores a bad file over a store and finds the store as it was.
async fn refused(home: &Home, file: &Path) -> StoreError {
    let error = match Store::restore(file, &home.place).await {
        Err(error) => error,
        Ok(done) => panic!("{} was restored: {done:?}", file.display()),
    };
    let store = Store::open(&home.place).await.expect("it still opens");
    let events = store.events_after(0, 9).await.expect("events");
    assert_eq!((events.len(), events[0].subject.as_str()), (1, "W-0001"));
    store.close().await;
    error
}

#[tokio::test]
async fn a_damaged_or_foreign_file_is_refused_and_nothing_is_lost() {
    let from = sqlite().await;
    fill(&from).await;
    let good = fs::read(backed_up(&from).await).expect("the file");
    let folder = tempfile::TempDir::new().expect("a folder");
    let file = folder.path().join("bad.tar");
    for mut home in homes("damaged").await {
        taken_in(&home, branch()).await;
        home.store.close().await;
        home.store = sqlite().await.store;
        // Cut short: nothing, within the first header, somewhere, by one byte.
        for len in [
            0,
            1,
            511,
            512,
            5000,
            good.len() / 2,
            good.len() - 1024,
            good.len() - 1,
        ] {
            fs::write(&file, &good[..len]).expect("written");
            let error = refused(&home, &file).await;
            assert!(
                matches!(error, StoreError::Damaged { .. }),
                "{len}: {error}"
            );
        }
        // One bit wrong: header, manifest, rows, object, padding, sum, end.
        let (n, steps) = (good.len(), 23);
        let spread = (0..steps).map(|k| k * (n - 1) / (steps - 1));
        for position in spread.chain([n - 2048, n - 2000, n - 1500, n - 1100, n - 500]) {
            let mut bad = good.clone();
            bad[position] ^= 1 << (position % 8);
            fs::write(&file, &bad).expect("written");
            let error = refused(&home, &file).await;
            assert!(
                matches!(error, StoreError::Damaged { .. }),
                "{position}: {error}"
            );
        }
        // Too long, another archive, no archive, none at all.
        let mut archive = tar::Builder::new(Vec::new());
        let mut header = tar::Header::new_gnu();
        header.set_size(2);
        archive
            .append_data(&mut header, "holiday.txt", &b"hi"[..])
            .expect("an entry");
        let archive = archive.into_inner().expect("an archive");
        for bad in [[&good[..], b"\0"].concat(), archive, vec![b'x'; 9000]] {
            fs::write(&file, &bad).expect("written");
            let error = refused(&home, &file).await;
            assert!(matches!(error, StoreError::Damaged { .. }), "{error}");
        }
        let none = refused(&home, &folder.path().join("none.tar")).await;
        assert!(matches!(none, StoreError::File { .. }), "{none}");
    }
}

#[tokio::test]
async fn nothing_is_restored_underneath_a_running_program() {
    let from = sqlite().await;
    fill(&from).await;
    let file = backed_up(&from).await;
    for home in homes("in_use").await {
        taken_in(&home, branch()).await;
        let error = refused_in_use(&home, &file).await;
        assert!(matches!(error, StoreError::InUse { .. }), "{error}");
        let home = home.reopened().await;
        assert_eq!(home.store.last_event().await.expect("events"), 1);
    }
}

async fn refused_in_use(home: &Home, file: &Path) -> StoreError {
    let result = Store::restore(file, &home.place).await;
    result.expect_err("a program runs on it")
}

#[tokio::test]
async fn a_backup_is_of_one_moment_while_work_goes_on() {
    for home in homes("moment").await {
        let store = home.store.clone();
        let writer = tokio::spawn(async move {
            for n in 0..40 {
                store.take_in(&at(n), stone()).await.expect("taken in");
            }
        });
        tokio::task::yield_now().await;
        let file = home.folder.path().join("moment.tar");
        home.store.backup(&file, 1).await.expect("backed up");
        writer.await.expect("no panic");
        let folder = tempfile::TempDir::new().expect("a folder");
        let place = Place::folder(folder.path().display().to_string());
        Store::restore(&file, &place).await.expect("restored");
        let copy = Store::open(&place).await.expect("it opens");
        let n_events = copy.last_event().await.expect("events");
        let list = copy
            .pieces(&PieceFilter::default(), PieceSort::Tag, false, 0, 1)
            .await;
        assert_eq!(list.expect("a list").total, n_events);
        let events = copy.events_after(0, 99).await.expect("events");
        assert_eq!(events.len() as i64, n_events);
    }
}

#[tokio::test]
async fn the_same_state_makes_the_same_file() {
    let home = sqlite().await;
    fill(&home).await;
    let file = backed_up(&home).await;
    let first = fs::read(&file).expect("the file");
    let second = fs::read(backed_up(&home).await).expect("the file");
    assert!(first == second);
    let manifest = Store::check_backup(&file).expect("it is whole");
    assert_eq!(manifest.tables.len(), 18);
}
