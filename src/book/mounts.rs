//! Which file system a file lies on: a book on a network drive would be damaged sooner or later, since
//! SQLite's shared memory and locks do not reach across machines.

use std::path::Path;

/// File systems that reach across a network, as Linux names them.
const NETWORK: &[&str] =
    &["nfs", "nfs4", "cifs", "smb3", "smbfs", "9p", "afs", "ceph", "fuse.sshfs", "fuse.glusterfs", "ncpfs"];

/// The type of the network file system that the folder lies on; none if it does not, or if it cannot be told.
pub(super) fn network(folder: &Path) -> Option<String> {
    let folder = folder.canonicalize().ok()?;
    let mounts = std::fs::read_to_string("/proc/self/mountinfo").ok()?;
    network_in(&mounts, &folder)
}

/// As [`network`], from the text of `mountinfo` (proc(5)): the mount point is the fifth field, and the type
/// the first one behind the lone hyphen.
fn network_in(mounts: &str, folder: &Path) -> Option<String> {
    let mount = |line: &str| {
        let (before, after) = line.split_once(" - ")?;
        let point = before.split(' ').nth(4)?.replace("\\040", " ");
        folder.starts_with(&point).then_some((point.len(), after.split(' ').next()?.to_owned()))
    };
    // The longest mount point above the folder is the one it lies on; of two alike the later hides the earlier.
    let (_, kind) = mounts.lines().filter_map(mount).max_by_key(|(length, _)| *length)?;
    NETWORK.contains(&kind.as_str()).then_some(kind)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_mount_counts() {
        let mounts = "22 1 0:20 / / rw - ext4 /dev/vda1 rw\n\
                      30 22 0:40 / /mnt/shop\\040disk rw shared:1 - nfs4 server:/x rw\n\
                      31 30 0:41 / /mnt/shop\\040disk/here rw - tmpfs tmpfs rw\n";
        assert_eq!(network_in(mounts, Path::new("/var/data")), None);
        assert_eq!(network_in(mounts, Path::new("/mnt/shop disk/a")).as_deref(), Some("nfs4"));
        assert_eq!(network_in(mounts, Path::new("/mnt/shop disk/here/a")), None);
        assert_eq!(network_in("", Path::new("/")), None);
    }
}
