//! Settling: in the background after each edit, and as a job whose motion is shown.

use std::{
    ops::ControlFlow,
    sync::{
        Arc, Mutex, PoisonError,
        atomic::{AtomicU64, Ordering::SeqCst},
    },
};

use axum::extract::State;
use layout::settle::{FRAME_S, LONGEST_S};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use solid::Pose;
use store::{By, Job, StoreError};
use workshop::{
    Layout, Memo, ReckonError,
    composition::reckon_error,
    reckoning::{Stands, reckon_stands},
};

use super::{
    group,
    open::{Bench, Laid, Settled, current},
    pictures,
    view::{PoseView, pose},
};
use crate::{
    App,
    clock::now_ms,
    http::{Accepted, ApiError, At},
    jobs::{Ended, Progress, desk, routes::Started},
    people::Who,
};

/// The kind of a settling job.
pub const JOB: &str = "settle";
/// Who settles in the background.
const SELF: &str = "lentic";

/// What is being settled in the background; the newest wish wins.
#[derive(Debug, Default)]
pub struct Settling {
    wish: Arc<AtomicU64>,
    line: Mutex<Line>,
    memo: Arc<Mutex<Memo>>,
}

#[derive(Debug, Default)]
struct Line {
    is_running: bool,
    wanted: Option<Arc<Laid>>,
    /// What the last settling was of, done or refused.
    done: Option<Arc<Laid>>,
}

impl Settling {
    fn line(&self) -> std::sync::MutexGuard<'_, Line> {
        self.line.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The next version to settle and the number of that wish; whoever asks goes on
    /// until there is none.
    fn next(&self) -> Option<(Arc<Laid>, u64)> {
        let mut line = self.line();
        let next = line.wanted.take();
        line.is_running = next.is_some();
        line.done.clone_from(&next);
        next.map(|laid| (laid, self.wish.load(SeqCst)))
    }
}

/// Asks for a version to be settled in the background.
pub fn want(app: &App, bench: &Arc<Bench>, laid: &Arc<Laid>) {
    {
        let mut line = bench.settling.line();
        let same = |other: &Arc<Laid>| Arc::ptr_eq(other, laid);
        if line
            .wanted
            .as_ref()
            .or(line.done.as_ref())
            .is_some_and(same)
        {
            return;
        }
        line.wanted = Some(Arc::clone(laid));
        // What runs now is of an older version: it breaks off.
        bench.settling.wish.fetch_add(1, SeqCst);
        if line.is_running {
            return;
        }
        line.is_running = true;
    }
    let (app, bench) = (app.clone(), Arc::clone(bench));
    tokio::spawn(async move {
        while let Some((laid, wish)) = bench.settling.next() {
            if let Err(error) = in_background(&app, &bench, &laid, wish).await {
                tracing::warn!(layout = bench.id, message = %error.told.message, "not settled");
            }
        }
    });
}

async fn in_background(
    app: &App,
    bench: &Arc<Bench>,
    laid: &Arc<Laid>,
    mine: u64,
) -> Result<(), ApiError> {
    let wish = Arc::clone(&bench.settling.wish);
    let (of, memo, desk) = (
        Arc::clone(laid),
        Arc::clone(&bench.settling.memo),
        app.clone(),
    );
    let stands = app
        .crew
        .long(move || {
            let mut memo = memo.lock().unwrap_or_else(PoisonError::into_inner);
            reckon_stands(&of.layout, &mut memo, &mut |_| {
                if wish.load(SeqCst) == mine && !desk.desk.is_closing() {
                    ControlFlow::Continue(())
                } else {
                    ControlFlow::Break(())
                }
            })
        })
        .await?;
    let stands = match stands {
        Ok(stands) => Arc::new(stands),
        Err(ReckonError::Stopped) => return Ok(()),
        Err(error) => return Err(reckon_error(&error).into()),
    };
    keep(app, bench, laid, &stands).await?;
    pictures::of_layout(app, bench, laid, &stands).await
}

/// Puts a settling in place and tells the world whether it stands.
async fn keep(
    app: &App,
    bench: &Bench,
    laid: &Arc<Laid>,
    stands: &Arc<Stands>,
) -> Result<(), ApiError> {
    bench.set_stands(Settled {
        laid: Arc::clone(laid),
        stands: Arc::clone(stands),
    });
    let by = By::new(SELF, now_ms());
    let does = group::does_stand(stands);
    match app
        .store
        .set_stands(&by, bench.id, laid.version, does)
        .await
    {
        // A newer version came in the meantime; its own settling will say.
        Ok(()) | Err(StoreError::Stale { .. }) => Ok(()),
        Err(error) => Err(error.into()),
    }
}

/// *Stands* of a layout, settled now if it wasn't.
///
/// # Errors
/// When the ground can't be laid.
pub async fn stands(
    app: &App,
    bench: &Arc<Bench>,
    laid: &Arc<Laid>,
) -> Result<Arc<Stands>, ApiError> {
    if let Some(settled) = bench.stands().filter(|s| Arc::ptr_eq(&s.laid, laid)) {
        return Ok(settled.stands);
    }
    let (of, memo) = (Arc::clone(laid), Arc::clone(&bench.settling.memo));
    let stands = app
        .crew
        .long(move || {
            let mut memo = memo.lock().unwrap_or_else(PoisonError::into_inner);
            reckon_stands(&of.layout, &mut memo, &mut |_| ControlFlow::Continue(()))
        })
        .await?
        .map_err(|error| ApiError::from(reckon_error(&error)))?;
    let stands = Arc::new(stands);
    keep(app, bench, laid, &stands).await?;
    Ok(stands)
}

/// What a settling job is of.
#[derive(Debug, Clone, Serialize, Deserialize)]
struct Input {
    layout: i64,
}

/// How a layout settled.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Motion {
    /// The layout's version.
    pub version: i64,
    /// Whether everything stays where it was put.
    pub stands: bool,
    /// The same in words.
    pub words: String,
    /// Time between two frames.
    pub dt_s: f64,
    /// The pieces, in the order of the frames' poses.
    pub tags: Vec<String>,
    /// For each frame, for each piece: centre of mass in mm, and the turn: x, y, z, w, qx, qy, qz.
    pub frames: Vec<Vec<[f64; 7]>>,
    /// Where each piece came to rest.
    pub r#final: Vec<AtRest>,
}

/// Where a piece came to rest.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct AtRest {
    /// The piece.
    pub tag: String,
    /// Its pose.
    pub pose: PoseView,
    /// How far its centre moved.
    pub moved_mm: f64,
    /// How far it turned.
    pub turned_deg: f64,
    /// Whether it rests.
    pub at_rest: bool,
}

/// `POST /api/layouts/{id}/settle`.
pub async fn start(
    State(app): State<App>,
    who: Who,
    At(id): At<i64>,
) -> Result<Accepted<Started>, ApiError> {
    let kept = app.store.layout(id).await?;
    current(&app, &kept).await?;
    let input = json!(Input { layout: id });
    let job = desk::put_in(&app, &who.by(), JOB, id, input).await?;
    Ok(Accepted(Started { job: job.id }))
}

/// Settles a layout and keeps its motion.
///
/// # Errors
/// When it can't be laid, or nobody wants it any more.
pub async fn run(app: &App, job: &Arc<Job>, progress: &Progress) -> Result<Value, Ended> {
    let input: Input =
        serde_json::from_value(job.input.clone()).map_err(|error| ApiError::internal(&error))?;
    progress.go_on(0.0, "letting the pieces down")?;
    let kept = app.store.layout(input.layout).await?;
    let (bench, laid) = current(app, &kept).await?;
    let (of, heard) = (Arc::clone(&laid), progress.clone());
    let (stands, frames) = app.crew.long(move || watched(&of.layout, &heard)).await?;
    let stands = match stands {
        Ok(stands) => Arc::new(stands),
        Err(ReckonError::Stopped) => return Err(Ended::Cancelled),
        Err(error) => return Err(ApiError::from(reckon_error(&error)).into()),
    };
    keep(app, &bench, &laid, &stands).await?;
    Ok(json!(motion(&laid, &stands, frames)))
}

type Frames = Vec<Vec<[f64; 7]>>;

/// Settles and writes down where everything is at each frame.
fn watched(layout: &Layout, heard: &Progress) -> (Result<Stands, ReckonError>, Frames) {
    let mut frames: Frames = Vec::new();
    // A memo of its own: one that knew the answer would have no motion to show.
    let stands = reckon_stands(layout, &mut Memo::default(), &mut |now| {
        frames.push(now.poses.iter().map(numbers).collect());
        // How long it takes is not known before; it slows down towards the longest.
        let share = 1.0 - (-3.0 * now.simulated_s / LONGEST_S).exp();
        let fastest_mm_s = now.fastest_m_s * 1e3;
        heard.step(
            share,
            format!(
                "settling: {:.1} s, fastest {fastest_mm_s:.0} mm/s",
                now.simulated_s
            ),
        );
        if heard.is_cancelled() {
            ControlFlow::Break(())
        } else {
            ControlFlow::Continue(())
        }
    });
    (stands, frames)
}

/// Hundredths of a millimetre and of a thousandth are enough to show.
fn numbers(pose: &Pose) -> [f64; 7] {
    let round = |x: f64, to: f64| (x * to).round() / to;
    let c = pose.centre_m * 1e3;
    let q = pose.turn;
    [
        round(c.x, 100.0),
        round(c.y, 100.0),
        round(c.z, 100.0),
        round(q.w, 1e5),
        round(q.x, 1e5),
        round(q.y, 1e5),
        round(q.z, 1e5),
    ]
}

fn motion(laid: &Laid, stands: &Stands, frames: Frames) -> Motion {
    Motion {
        version: laid.version,
        stands: group::does_stand(stands),
        words: group::verdict(&laid.layout, stands),
        dt_s: FRAME_S,
        tags: laid
            .layout
            .placed
            .iter()
            .map(|p| p.piece.tag().to_string())
            .collect(),
        frames,
        r#final: stands
            .pieces
            .iter()
            .map(|piece| AtRest {
                tag: piece.tag.to_string(),
                pose: pose(&piece.settled),
                moved_mm: piece.moved.value,
                turned_deg: piece.turned.value,
                at_rest: piece.at_rest,
            })
            .collect(),
    }
}
