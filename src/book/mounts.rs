//! What kind of disk a file is on: whether it is one that another machine may write to as well.

use std::path::{Path, PathBuf};

/// Kinds of file system, as Linux names them, that live on another machine or are shared with one. SQLite's
/// own documents ("Write-Ahead Logging", "How To Corrupt An SQLite Database File") say that its journal needs
/// all users of the file on one machine, and that locks on such systems cannot be relied on.
const NETWORK: &[&str] = &[
    "9p",
    "afs",
    "beegfs",
    "ceph",
    "cifs",
    "coda",
    "davfs",
    "fuse.ceph",
    "fuse.glusterfs",
    "fuse.rclone",
    "fuse.s3fs",
    "fuse.smbnetfs",
    "fuse.sshfs",
    "fuse.vmhgfs-fuse",
    "gfs2",
    "lustre",
    "ncpfs",
    "nfs",
    "nfs4",
    "ocfs2",
    "prl_fs",
    "smb3",
    "smbfs",
    "vboxsf",
];

/// The kind of network disk that folder is on; none if it is on none, or if it cannot be told.
pub(super) fn network(folder: &Path) -> Option<String> {
    let folder = folder.canonicalize().ok()?;
    let table = std::fs::read_to_string("/proc/self/mountinfo").ok()?;
    filesystem(&table, &folder).filter(|kind| NETWORK.contains(&kind.as_str()))
}

/// The kind of file system that holds `path`, by the lines of `/proc/self/mountinfo` (proc(5)): `36 35 98:0
/// /root /mnt rw,noatime master:1 - ext3 /dev/sda rw`. The deepest mount point wins, and the latest of those on
/// the same point.
fn filesystem(table: &str, path: &Path) -> Option<String> {
    let mounts = table.lines().filter_map(|line| {
        let (before, after) = line.split_once(" - ")?;
        let point = PathBuf::from(unescaped(before.split(' ').nth(4)?));
        Some((point, after.split(' ').next()?))
    });
    let holding = mounts.filter(|(point, _)| path.starts_with(point));
    holding.max_by_key(|(point, _)| point.components().count()).map(|(_, kind)| kind.to_owned())
}

/// A mount point's text: blanks, tabs, line ends and backslashes come as three octal digits.
fn unescaped(text: &str) -> String {
    [(r"\040", " "), (r"\011", "\t"), (r"\012", "\n"), (r"\134", r"\")]
        .iter()
        .fold(text.to_owned(), |text, (escaped, plain)| text.replace(escaped, plain))
}

#[cfg(test)]
mod tests {
    use super::*;

    const TABLE: &str = "\
22 1 8:1 / / rw,relatime shared:1 - ext4 /dev/sda1 rw
30 22 0:40 / /home/shop rw shared:9 - nfs4 server:/shop rw,vers=4.2
31 30 0:41 / /home/shop/local rw - xfs /dev/sdb1 rw
32 22 0:42 / /mnt/two\\040words rw master:2 propagate_from:3 - fuse.sshfs user@host: rw
33 22 8:2 / /var rw - nfs server:/var rw
34 22 8:3 / /var rw - btrfs /dev/sdc rw
35 22 0:44 / /mnt/share rw - cifs //server/share rw
broken line
";

    #[test]
    fn the_deepest_and_latest_mount_counts() {
        for (path, kind) in [
            ("/etc", "ext4"),
            ("/home/shop", "nfs4"),
            ("/home/shop/books", "nfs4"),
            ("/home/shop/local/books", "xfs"),
            ("/home/shopping", "ext4"),
            ("/mnt/two words/x", "fuse.sshfs"),
            ("/var/lib", "btrfs"),
            ("/mnt/share/books", "cifs"),
        ] {
            assert_eq!(filesystem(TABLE, Path::new(path)).as_deref(), Some(kind), "{path}");
        }
        assert_eq!(filesystem("", Path::new("/x")), None);
    }

    #[test]
    fn network_kinds_are_sorted_so_that_they_can_be_read() {
        assert!(NETWORK.is_sorted());
        assert!(
            ["nfs", "nfs4", "cifs", "smb3", "9p", "fuse.sshfs"].iter().all(|kind| NETWORK.contains(kind))
        );
        assert!(
            !["ext4", "xfs", "btrfs", "tmpfs", "overlay", "zfs", "apfs"].iter().any(|k| NETWORK.contains(k))
        );
    }
}
