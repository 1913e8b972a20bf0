//! By what a file is known again without being read.

use crate::units::Stamp;
use serde::{Deserialize, Serialize};
use std::fs::Metadata;
use std::os::unix::fs::MetadataExt as _;

/// What the system says of a file. Its own clock sets `changed`, whatever a program sets `modified` to; another
/// file under the old name has another number; who may read it, too, is a change.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct Key {
    size: u64,
    /// Seconds and nanoseconds.
    modified: (i64, i64),
    changed: (i64, i64),
    inode: u64,
}

/// A file that changed this recently may change once more without showing it: some file systems count time in steps
/// of two seconds (FAT; from memory).
const STEP_SECONDS: i64 = 2;

impl Key {
    pub(super) fn of(metadata: &Metadata) -> Self {
        Self {
            size: metadata.len(),
            modified: (metadata.mtime(), metadata.mtime_nsec()),
            changed: (metadata.ctime(), metadata.ctime_nsec()),
            inode: metadata.ino(),
        }
    }

    /// Whether the file would have another key if it had been changed after `read`, when it was about to be read.
    pub(super) fn is_settled(&self, read: Stamp) -> bool {
        let seconds = read.0.div_euclid(1_000_000);
        let last = self.modified.0.max(self.changed.0);
        last < seconds.saturating_sub(STEP_SECONDS)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_that_was_just_written_is_not_settled() {
        let key = Key { size: 1, modified: (50, 0), changed: (100, 0), inode: 1 };
        for (second, is) in [(99, false), (100, false), (102, false), (103, true), (1_000, true)] {
            assert_eq!(key.is_settled(Stamp(second * 1_000_000)), is, "{second}");
        }
        let future = Key { modified: (500, 0), ..key };
        assert!(!future.is_settled(Stamp(103_000_000)), "a clock that was wrong proves nothing");
    }
}
