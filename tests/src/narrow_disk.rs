//! A disk that a test can fill and empty while a program writes to it.

use anyhow::ensure;
use rustix::process::{Pid, Resource, Rlimit, prlimit};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Bytes of a disk of its own.
const SIZE: usize = 24 << 20;
/// How long a limited file may become, bytes: shorter than the database's log after a few commits, longer than what the program
/// prints.
const LIMIT: u64 = 128 << 10;

/// A folder whose disk can be full.
pub enum NarrowDisk {
    /// A small disk in memory of its own: writes fail with "no space left", as on a full one. Only root may make it.
    Own { folder: tempfile::TempDir },
    /// A limit to how long the program's files may become: writes fail with an error that is none of space, as on a failing disk.
    Limited { folder: tempfile::TempDir },
}

impl NarrowDisk {
    /// A disk of its own; `None` where that is not allowed.
    ///
    /// # Errors
    /// When no folder can be made.
    pub fn own() -> anyhow::Result<Option<NarrowDisk>> {
        let folder = tempfile::tempdir()?;
        let size = format!("size={SIZE}");
        let mounted = Command::new("mount").args(["-t", "tmpfs", "-o", &size, "tmpfs"]).arg(folder.path()).output();
        Ok(mounted.is_ok_and(|output| output.status.success()).then_some(NarrowDisk::Own { folder }))
    }

    /// An ordinary folder, with a limit when it is filled.
    ///
    /// # Errors
    /// When no folder can be made.
    pub fn limited() -> anyhow::Result<NarrowDisk> {
        Ok(NarrowDisk::Limited { folder: tempfile::tempdir()? })
    }

    pub fn folder(&self) -> &Path {
        match self {
            NarrowDisk::Own { folder } | NarrowDisk::Limited { folder } => folder.path(),
        }
    }

    fn filler(&self) -> PathBuf {
        self.folder().join("filler")
    }

    /// Leaves the program `writer` no room.
    ///
    /// # Errors
    /// When the system does not let it.
    pub fn fill(&self, writer: Pid) -> anyhow::Result<()> {
        match self {
            NarrowDisk::Own { .. } => {
                let mut filler = std::fs::File::options().create(true).append(true).open(self.filler())?;
                for block in [1 << 16, 1 << 9, 1] {
                    while filler.write(&vec![0; block]).is_ok() {}
                }
                ensure!(filler.metadata()?.len() > 0, "the disk was full before");
            }
            NarrowDisk::Limited { .. } => limit(writer, Some(LIMIT))?,
        }
        Ok(())
    }

    /// Makes room again.
    ///
    /// # Errors
    /// When the system does not let it.
    pub fn empty(&self, writer: Pid) -> anyhow::Result<()> {
        match self {
            NarrowDisk::Own { .. } => Ok(std::fs::remove_file(self.filler())?),
            NarrowDisk::Limited { .. } => limit(writer, None),
        }
    }
}

fn limit(writer: Pid, length: Option<u64>) -> anyhow::Result<()> {
    let before = rustix::process::getrlimit(Resource::Fsize);
    let limit = Rlimit { current: length.or(before.maximum), maximum: before.maximum };
    prlimit(Some(writer), Resource::Fsize, limit)?;
    Ok(())
}

impl Drop for NarrowDisk {
    fn drop(&mut self) {
        if let NarrowDisk::Own { folder } = self {
            // Lazily: a program that a failed test has left behind may still hold a file open.
            let _ = Command::new("umount").arg("-l").arg(folder.path()).status();
        }
    }
}
