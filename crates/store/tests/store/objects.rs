//! Objects: named by their bytes, there before any row names them.

use bytes::Bytes;
use futures_util::TryStreamExt;
use store::{ObjectId, StoreError, UploadKind};

use crate::home::{at, homes};

#[tokio::test]
async fn an_object_is_named_by_the_sum_of_its_bytes() {
    for home in homes("object").await {
        let kept = home.store.objects().put(Bytes::from_static(b"abc")).await;
        let kept = kept.expect("kept");
        // The one-block message of FIPS 180-2, appendix B.1.
        let sum = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
        assert_eq!((kept.id.hex(), kept.size_bytes), (sum, 3));
        let read = home.store.objects().get(&kept.id).await.expect("read");
        assert_eq!(&read[..], b"abc");
    }
}

#[tokio::test]
async fn bytes_that_come_piece_by_piece_are_one_object() {
    for home in homes("object_pieces").await {
        let objects = home.store.objects();
        let whole: Vec<u8> = (0..20u32 << 20).map(|n| (n >> 3) as u8).collect();
        let mut writer = objects.writer().await.expect("a writer");
        for part in whole.chunks(1_000_003) {
            writer
                .write(Bytes::copy_from_slice(part))
                .await
                .expect("taken");
        }
        assert_eq!(writer.size_bytes(), whole.len() as u64);
        let kept = writer.finish().await.expect("kept");
        assert_eq!(kept.id, ObjectId::of(&whole));
        let (size, stream) = objects.stream(&kept.id).await.expect("a stream");
        let read: Vec<Bytes> = stream.try_collect().await.expect("read");
        assert_eq!(size, whole.len() as u64);
        assert_eq!(read.concat(), whole);
    }
}

#[tokio::test]
async fn no_bytes_are_an_object_too() {
    for home in homes("object_empty").await {
        let objects = home.store.objects();
        let kept = objects.put(Bytes::new()).await.expect("kept");
        // The empty message of NIST's example values for SHA-256.
        let sum = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855";
        assert_eq!((kept.id.hex(), kept.size_bytes), (sum, 0));
        assert_eq!(objects.get(&kept.id).await.expect("read").len(), 0);
    }
}

#[tokio::test]
async fn what_is_not_finished_is_not_kept() {
    for home in homes("object_unfinished").await {
        let objects = home.store.objects();
        let mut writer = objects.writer().await.expect("a writer");
        writer
            .write(Bytes::from_static(b"half"))
            .await
            .expect("taken");
        writer.give_up().await.expect("given up");
        let id = ObjectId::of(b"half");
        assert!(!objects.has(&id).await.expect("an answer"));
        assert!(matches!(
            objects.get(&id).await,
            Err(StoreError::Missing { .. })
        ));
    }
}

#[tokio::test]
async fn the_same_bytes_twice_are_one_object_and_two_uploads() {
    for home in homes("object_twice").await {
        let store = &home.store;
        let mut ids = Vec::new();
        for name in ["a.ply", "b.ply"] {
            let kept = store
                .objects()
                .put(Bytes::from_static(b"ply"))
                .await
                .expect("kept");
            let upload = store
                .add_upload(&at(1), name, UploadKind::Scan, &kept)
                .await;
            ids.push(upload.expect("an upload"));
        }
        assert_eq!(ids[0].object, ids[1].object);
        assert_eq!(store.upload(ids[1].id).await.expect("it").name, "b.ply");
    }
}

#[test]
fn a_name_that_could_lead_elsewhere_is_no_name() {
    let good = "0".repeat(64);
    assert!(ObjectId::from_hex(&good).is_some());
    for bad in [
        "",
        "..",
        &"0".repeat(63),
        &"G".repeat(64),
        &"A".repeat(64),
        &format!("../{}", "0".repeat(61)),
    ] {
        assert!(ObjectId::from_hex(bad).is_none(), "{bad:?}");
    }
}

#[tokio::test]
async fn what_a_dead_program_left_is_swept_and_nothing_else() {
    for home in homes("object_sweep").await {
        let objects = home.store.objects();
        let kept = objects
            .put(Bytes::from_static(b"whole"))
            .await
            .expect("kept");
        let incoming = objects.root().expect("a folder").join("incoming");
        std::fs::write(incoming.join("123-left#1"), b"half").expect("written");
        assert_eq!(
            objects.sweep(0).await.expect("swept"),
            0,
            "it may be under way"
        );
        assert_eq!(objects.sweep(1 << 50).await.expect("swept"), 1);
        assert!(objects.has(&kept.id).await.expect("an answer"));
    }
}
