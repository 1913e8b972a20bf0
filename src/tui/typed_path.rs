//! A path as a person types it.

use std::path::{Path, PathBuf};

/// With `~` for the home folder, as a shell has it. What is relative stays so: to where the program was started.
pub(super) fn whole(typed: &Path, home: Option<&Path>) -> PathBuf {
    match (typed.strip_prefix("~"), home) {
        (Ok(below), Some(home)) if below.as_os_str().is_empty() => home.to_owned(),
        (Ok(below), Some(home)) => home.join(below),
        _ => typed.to_owned(),
    }
}

/// Where the home folder is.
pub(super) fn home() -> Option<PathBuf> {
    std::env::var_os("HOME").map(PathBuf::from)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_home_folder_can_be_typed_in_short() {
        let home = Path::new("/house/robin");
        for (typed, is) in [
            ("~", "/house/robin"),
            ("~/", "/house/robin"),
            ("~/delivery.csv", "/house/robin/delivery.csv"),
            ("~robin/delivery.csv", "~robin/delivery.csv"),
            ("a/~/b", "a/~/b"),
            ("delivery.csv", "delivery.csv"),
            ("/delivery.csv", "/delivery.csv"),
        ] {
            assert_eq!(whole(Path::new(typed), Some(home)), Path::new(is), "{typed}");
            assert_eq!(whole(Path::new(typed), None), Path::new(typed));
        }
    }
}
