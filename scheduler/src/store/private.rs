//! Files and folders that only their owner may read: databases, backups and exports hold names, chats and orders.

use std::fs::{DirBuilder, File, OpenOptions};
use std::io;
use std::path::Path;

/// Makes a file that was not there.
///
/// # Errors
/// When it is there already, or cannot be made.
pub fn new_file(path: &Path) -> io::Result<File> {
    let mut options = OpenOptions::new();
    options.write(true).create_new(true);
    #[cfg(unix)]
    std::os::unix::fs::OpenOptionsExt::mode(&mut options, 0o600);
    options.open(path)
}

/// Makes a folder and those above it where they are missing; one that is there stays as it is.
///
/// # Errors
/// When it cannot be made.
pub fn folder(path: &Path) -> io::Result<()> {
    let mut builder = DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(path)
}
