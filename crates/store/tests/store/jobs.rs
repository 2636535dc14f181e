//! Jobs: claimed once, claimed again when their worker is dead, cancelled, ended.

use std::collections::BTreeSet;

use serde_json::{Value, json};
use store::{By, Job, JobState, NewJob, Store, StoreError};

use crate::home::{at, homes};

const SILENCE_MS: i64 = 1000;

async fn put_in(store: &Store, kind: &str) -> Job {
    let new = NewJob {
        kind: kind.to_owned(),
        subject: "7".to_owned(),
        input: json!({ "layout": 7 }),
    };
    store.add_job(&at(10), new).await.expect("a job")
}

fn worker(name: &str, at_ms: i64) -> By {
    By::new(name, at_ms)
}

async fn claim(store: &Store, name: &str, at_ms: i64) -> Option<Job> {
    let claimed = store.claim_job(&worker(name, at_ms), &[], SILENCE_MS).await;
    claimed.expect("a claim")
}

#[tokio::test]
async fn a_job_goes_from_waiting_to_done() {
    for home in homes("job_done").await {
        let store = &home.store;
        let id = put_in(store, "settle").await.id;
        let job = claim(store, "w1", 20).await.expect("it is claimed");
        assert_eq!(
            (job.id, job.state, job.attempts),
            (id, JobState::Running, 1)
        );
        assert_eq!(job.input, json!({ "layout": 7 }));
        let cancel = store
            .job_progress(&worker("w1", 30), id, 0.5, "letting go")
            .await;
        assert!(!cancel.expect("progress"));
        let half = store.job(id).await.expect("it");
        assert_eq!((half.progress, half.step.as_str()), (0.5, "letting go"));
        let done = store
            .job_done(&worker("w1", 40), id, &json!({ "stands": true }))
            .await;
        let done = done.expect("done");
        assert_eq!((done.state, done.progress), (JobState::Done, 1.0));
        assert_eq!(done.result, Some(json!({ "stands": true })));
        assert!(claim(store, "w2", 99_999).await.is_none());
        let history = store
            .history("job", &id.to_string(), 9)
            .await
            .expect("events");
        let deeds: Vec<_> = history.iter().rev().map(|e| e.deed.as_str()).collect();
        assert_eq!(deeds, ["put in", "begun", "done"]);
    }
}

#[tokio::test]
async fn each_job_is_claimed_once_by_workers_of_two_processes() {
    for home in homes("claimed_once").await {
        let mut wanted = BTreeSet::new();
        for _ in 0..24 {
            wanted.insert(put_in(&home.store, "settle").await.id);
        }
        let other = Store::open(&home.place).await.expect("a second store");
        let tasks: Vec<_> = (0..6)
            .map(|n| {
                let store = if n % 2 == 0 {
                    home.store.clone()
                } else {
                    other.clone()
                };
                tokio::spawn(async move {
                    let mut mine = Vec::new();
                    while let Some(job) = claim(&store, &format!("w{n}"), 20).await {
                        mine.push(job.id);
                    }
                    mine
                })
            })
            .collect();
        let mut claimed = Vec::new();
        for task in tasks {
            claimed.extend(task.await.expect("no panic"));
        }
        assert_eq!(claimed.len(), 24, "{claimed:?}");
        assert_eq!(claimed.into_iter().collect::<BTreeSet<_>>(), wanted);
    }
}

#[tokio::test]
async fn a_dead_workers_job_is_claimed_again_and_its_late_answer_refused() {
    for home in homes("claimed_again").await {
        let store = &home.store;
        let id = put_in(store, "settle").await.id;
        claim(store, "w1", 100).await.expect("claimed");
        assert!(
            claim(store, "w2", 100 + SILENCE_MS).await.is_none(),
            "w1 may live"
        );
        let again = claim(store, "w2", 101 + SILENCE_MS)
            .await
            .expect("claimed again");
        assert_eq!((again.id, again.attempts), (id, 2));
        let late = store.job_done(&worker("w1", 5000), id, &Value::Null).await;
        assert!(matches!(late, Err(StoreError::JobLost { .. })));
        let late = store.job_progress(&worker("w1", 5000), id, 0.9, "").await;
        assert!(matches!(late, Err(StoreError::JobLost { .. })));
        store
            .job_done(&worker("w2", 5001), id, &Value::Null)
            .await
            .expect("done");
    }
}

#[tokio::test]
async fn a_heartbeat_keeps_a_job() {
    for home in homes("heartbeat").await {
        let store = &home.store;
        let id = put_in(store, "settle").await.id;
        claim(store, "w1", 100).await.expect("claimed");
        store
            .job_progress(&worker("w1", 1000), id, 0.1, "")
            .await
            .expect("alive");
        assert!(claim(store, "w2", 1900).await.is_none());
    }
}

#[tokio::test]
async fn a_job_that_kills_its_workers_is_given_up() {
    for home in homes("given_up").await {
        let store = &home.store;
        let id = put_in(store, "taking-in").await.id;
        for n in 0..3 {
            let job = claim(store, "w", n * 2000).await.expect("claimed");
            assert_eq!(job.attempts, n + 1);
        }
        assert!(claim(store, "w", 6000).await.is_none());
        let job = store.job(id).await.expect("it");
        assert_eq!(job.state, JobState::Failed);
        let words = job.error.expect("an error")["message"].to_string();
        assert!(words.contains("3 times"), "{words}");
    }
}

#[tokio::test]
async fn a_waiting_job_is_cancelled_at_once_and_a_running_one_is_told() {
    for home in homes("cancelled").await {
        let store = &home.store;
        let waiting = put_in(store, "settle").await.id;
        let cancelled = store.cancel_job(&at(1), waiting).await.expect("cancelled");
        assert_eq!(cancelled.state, JobState::Cancelled);
        let running = put_in(store, "settle").await.id;
        assert_eq!(claim(store, "w1", 20).await.expect("claimed").id, running);
        let told = store.cancel_job(&at(2), running).await.expect("told");
        assert_eq!((told.state, told.cancel_wished), (JobState::Running, true));
        assert!(
            store
                .job_progress(&worker("w1", 30), running, 0.2, "")
                .await
                .expect("told")
        );
        let ended = store
            .job_cancelled(&worker("w1", 40), running)
            .await
            .expect("ended");
        assert_eq!(ended.state, JobState::Cancelled);
        let over = store.cancel_job(&at(3), running).await.expect("over");
        assert_eq!(over, ended);
    }
}

#[tokio::test]
async fn a_job_put_back_waits_and_the_beginning_does_not_count() {
    for home in homes("put_back").await {
        let store = &home.store;
        let id = put_in(store, "settle").await.id;
        claim(store, "w1", 20).await.expect("claimed");
        let back = store
            .job_put_back(&worker("w1", 30), id)
            .await
            .expect("back");
        assert_eq!((back.state, back.attempts), (JobState::Waiting, 0));
        assert_eq!(claim(store, "w2", 31).await.expect("claimed").attempts, 1);
    }
}

#[tokio::test]
async fn a_worker_claims_only_kinds_it_can_do() {
    for home in homes("kinds").await {
        let store = &home.store;
        put_in(store, "settle").await;
        let drawn = put_in(store, "draw").await.id;
        let claimed = store
            .claim_job(&worker("w", 20), &["draw", "print"], SILENCE_MS)
            .await;
        assert_eq!(claimed.expect("a claim").expect("a job").id, drawn);
        let none = store
            .claim_job(&worker("w", 20), &["print"], SILENCE_MS)
            .await;
        assert!(none.expect("a claim").is_none());
        assert_eq!(store.jobs(1).await.expect("jobs")[0].id, drawn);
    }
}
