//! The data folder: which of its kept folders is the current one, and who uses it.
//!
//! `current` names the folder that holds the database and the objects. A restore
//! fills a new folder and then replaces that one small file, which is atomic, also
//! where the data folder itself can't be renamed.

use std::{
    fs::{self, File, TryLockError},
    io::Write as _,
    path::{Path, PathBuf},
};

use crate::StoreError;

const CURRENT: &str = "current";
const LOCK: &str = "lock";

/// A data folder in use; the lock falls when this is dropped.
#[derive(Debug)]
pub(crate) struct DataFolder {
    root: PathBuf,
    kept: String,
    _lock: File,
}

impl DataFolder {
    /// Opens a data folder for use beside others, or makes it.
    pub(crate) fn open(root: &Path) -> Result<Self, StoreError> {
        let lock = lock_file(root)?;
        match lock.try_lock_shared() {
            Ok(()) => Self::with_lock(root, lock),
            Err(error) => Err(locked(root, error)),
        }
    }

    /// Opens a data folder for nobody else's use.
    pub(crate) fn open_alone(root: &Path) -> Result<Self, StoreError> {
        let lock = lock_file(root)?;
        match lock.try_lock() {
            Ok(()) => Self::with_lock(root, lock),
            Err(error) => Err(locked(root, error)),
        }
    }

    fn with_lock(root: &Path, lock: File) -> Result<Self, StoreError> {
        let current = root.join(CURRENT);
        let kept = match fs::read_to_string(&current) {
            Ok(text) => name_of_kept(text.trim()).ok_or_else(|| StoreError::Address {
                address: current.display().to_string(),
                reason: "it names no kept folder".to_owned(),
            })?,
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => {
                let first = "kept-1".to_owned();
                make_folder(&root.join(&first))?;
                point_to(root, &first)?;
                first
            }
            Err(error) => return Err(StoreError::file(current)(error)),
        };
        Ok(Self {
            root: root.to_owned(),
            kept,
            _lock: lock,
        })
    }

    /// The folder of the current database and objects.
    pub(crate) fn kept(&self) -> PathBuf {
        self.root.join(&self.kept)
    }

    /// The SQLite file.
    pub(crate) fn database(&self) -> PathBuf {
        self.kept().join("lentic.db")
    }

    /// An empty folder for data to come; what an interrupted restore left is removed.
    pub(crate) fn incoming(&self) -> Result<PathBuf, StoreError> {
        let path = self.root.join("incoming");
        if path.exists() {
            fs::remove_dir_all(&path).map_err(StoreError::file(&path))?;
        }
        make_folder(&path)?;
        Ok(path)
    }

    /// Makes a folder that was filled the current one, durably and at once.
    pub(crate) fn take_in(&mut self, incoming: &Path) -> Result<(), StoreError> {
        let number = |name: &str| name.strip_prefix("kept-")?.parse::<u64>().ok();
        let entries = fs::read_dir(&self.root).map_err(StoreError::file(&self.root))?;
        let newest = entries
            .flatten()
            .filter_map(|entry| number(entry.file_name().to_str()?))
            .max();
        let name = format!("kept-{}", newest.unwrap_or(0) + 1);
        sync_folder(incoming)?;
        fs::rename(incoming, self.root.join(&name)).map_err(StoreError::file(incoming))?;
        sync_folder(&self.root)?;
        point_to(&self.root, &name)?;
        self.kept = name;
        Ok(())
    }
}

fn name_of_kept(text: &str) -> Option<String> {
    let number = text.strip_prefix("kept-")?;
    number.parse::<u64>().ok().map(|n| format!("kept-{n}"))
}

fn lock_file(root: &Path) -> Result<File, StoreError> {
    make_folder(root)?;
    let path = root.join(LOCK);
    File::options()
        .create(true)
        .truncate(false)
        .write(true)
        .open(&path)
        .map_err(StoreError::file(path))
}

fn locked(root: &Path, error: TryLockError) -> StoreError {
    match error {
        TryLockError::WouldBlock => StoreError::InUse {
            place: root.display().to_string(),
        },
        TryLockError::Error(error) => StoreError::file(root.join(LOCK))(error),
    }
}

fn make_folder(path: &Path) -> Result<(), StoreError> {
    fs::create_dir_all(path).map_err(StoreError::file(path))?;
    if let Some(parent) = path.parent().filter(|p| !p.as_os_str().is_empty()) {
        sync_folder(parent)?;
    }
    Ok(())
}

/// Writes `current` beside itself, then puts it in place.
fn point_to(root: &Path, kept: &str) -> Result<(), StoreError> {
    let (new, current) = (root.join("current.new"), root.join(CURRENT));
    let write = || -> std::io::Result<()> {
        let mut file = File::create(&new)?;
        file.write_all(kept.as_bytes())?;
        file.write_all(b"\n")?;
        file.sync_all()?;
        fs::rename(&new, &current)
    };
    write().map_err(StoreError::file(&current))?;
    sync_folder(root)
}

/// Makes a folder's entries durable.
pub(crate) fn sync_folder(path: &Path) -> Result<(), StoreError> {
    // Only Unix can open a folder to sync it; elsewhere a rename is as durable as it gets.
    if cfg!(unix) {
        File::open(path)
            .and_then(|folder| folder.sync_all())
            .map_err(StoreError::file(path))?;
    }
    Ok(())
}
