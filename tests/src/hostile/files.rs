//! Files that somebody may hand to the program.

use super::Ground;
use flate2::Compression;
use flate2::write::GzEncoder;
use pinset::config::Config;
use pinset::house::House;
use pinset::wording::Wording;
use scheduler::store::backup;
use sha2::{Digest, Sha256};
use std::io::Write;

/// A configuration: refused with a reason, or one that a house can be built from.
pub fn configuration(wording: &Wording, bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    match Config::parse(text) {
        Ok(config) => drop(House::new(config, wording.clone())),
        Err(error) => assert!(!error.to_string().trim().is_empty()),
    }
}

/// A backup: the bytes as they are, and the bytes as lines packed and sealed as a backup's are, so that what comes after the
/// seal is reached too.
pub fn backup(ground: &Ground, bytes: &[u8]) {
    for file in [bytes.to_vec(), sealed(bytes)] {
        if backup::check(&file[..]).is_err() {
            continue;
        }
        // Whole by its seal: it goes into a database, or is refused with nothing changed.
        let folder = tempfile::tempdir().expect("a folder");
        let url = format!("sqlite://{}", folder.path().join("restored").display());
        let restored = ground.block_on(backup::restore(&file[..], &url, false));
        if let Err(error) = restored {
            assert!(!error.to_string().trim().is_empty());
        }
    }
}

fn sealed(lines: &[u8]) -> Vec<u8> {
    let mut lines = lines.to_vec();
    if lines.last() != Some(&b'\n') {
        lines.push(b'\n');
    }
    let is_row = |line: &&[u8]| line.first() == Some(&b'[');
    let rows = lines.split(|byte| *byte == b'\n').filter(is_row).count();
    let hash: String = Sha256::digest(&lines).iter().map(|byte| format!("{byte:02x}")).collect();
    let mut packed = GzEncoder::new(Vec::new(), Compression::fast());
    packed.write_all(&lines).expect("memory takes bytes");
    writeln!(packed, "{{\"rows\":{rows},\"sha256\":\"{hash}\"}}").expect("memory takes bytes");
    packed.finish().expect("memory takes bytes")
}
