//! `lentic backup` and `lentic restore`: everything in one file, and back.

use std::{
    future::Future,
    path::{Path, PathBuf},
    process::ExitCode,
};

use clap::Args;
use server::clock::now_ms;
use store::{Place, Store, StoreError};

use super::written;

#[derive(Args)]
pub(super) struct BackupArguments {
    /// The file: written by backup, read by restore
    file: PathBuf,
    /// Data folder, or postgres://…
    #[arg(long, default_value = "lentic-data")]
    data: String,
    /// Folder or s3://… for scans and pictures; in the data folder when absent
    #[arg(long)]
    objects: Option<String>,
}

impl BackupArguments {
    fn place(&self) -> Place {
        Place {
            data: self.data.clone(),
            objects: self.objects.clone(),
        }
    }
}

/// Writes everything into one file; the workshop may go on meanwhile.
pub(super) fn backup(arguments: &BackupArguments) -> ExitCode {
    let is_folder = !arguments.data.contains("://");
    if is_folder && !Path::new(&arguments.data).is_dir() {
        eprintln!(
            "there is no data folder {}; name it with --data",
            arguments.data
        );
        return ExitCode::from(2);
    }
    ended(async {
        let store = Store::open(&arguments.place()).await?;
        let done = store.backup(&arguments.file, now_ms()).await?;
        store.close().await;
        Ok(format!(
            "{}: {} rows, {} scans and pictures, {:.1} MB, read back and found whole\n",
            arguments.file.display(),
            done.n_rows,
            done.n_objects,
            done.size_bytes as f64 * 1e-6
        ))
    })
}

/// Puts back everything from one file; a file that is damaged changes nothing.
pub(super) fn restore(arguments: &BackupArguments) -> ExitCode {
    ended(async {
        let done = Store::restore(&arguments.file, &arguments.place()).await?;
        let aside = done.kept_aside.map_or_else(String::new, |folder| {
            format!("; what was there before is in {}", folder.display())
        });
        Ok(format!(
            "{}: {} rows, {} scans and pictures are back{aside}\n",
            arguments.data, done.n_rows, done.n_objects
        ))
    })
}

fn ended(work: impl Future<Output = Result<String, StoreError>>) -> ExitCode {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .enable_all()
        .build();
    let done = match runtime {
        Ok(runtime) => runtime.block_on(work).map_err(|error| error.to_string()),
        Err(error) => Err(error.to_string()),
    };
    match done {
        Ok(text) => written(&text),
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(2)
        }
    }
}
