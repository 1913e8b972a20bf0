//! The log: a file in the user's state folder, for its owner alone, and only when it was asked for. Never the
//! screen.

use super::CliError;
use etcetera::BaseStrategy as _;
use std::fs::{self, DirBuilder, OpenOptions, Permissions};
use std::os::unix::fs::{DirBuilderExt as _, OpenOptionsExt as _, PermissionsExt as _};
use std::sync::Mutex;
use tracing_subscriber::EnvFilter;

/// Asks for the log and says how much of it: `debug`, or a filter by module.
const VARIABLE: &str = "POURBOOK_LOG";

/// Begins the log if it was asked for.
///
/// # Errors
/// It was asked for and cannot be kept. The program can go on without.
pub(super) fn begin() -> Result<(), CliError> {
    let Some(wanted) = std::env::var(VARIABLE).ok().filter(|text| !text.trim().is_empty()) else {
        return Ok(());
    };
    let no_log = |why: String| CliError::failed(format!("no log is kept: {why}"));
    let filter =
        EnvFilter::try_new(&wanted).map_err(|error| no_log(format!("{VARIABLE}={wanted}: {error}")))?;
    let folders = etcetera::choose_base_strategy().map_err(|error| no_log(error.to_string()))?;
    let folder = folders.state_dir().unwrap_or_else(|| folders.data_dir()).join("pourbook");
    let path = folder.join("pourbook.log");
    let file = DirBuilder::new().recursive(true).mode(0o700).create(&folder).and_then(|()| {
        let file = OpenOptions::new().create(true).append(true).mode(0o600).open(&path)?;
        // A file that was there before may have been open to others.
        fs::set_permissions(&path, Permissions::from_mode(0o600))?;
        Ok(file)
    });
    let file = file.map_err(|error| no_log(format!("{}: {error}", path.display())))?;
    tracing_subscriber::fmt()
        .with_env_filter(filter)
        .with_ansi(false)
        .with_writer(Mutex::new(file))
        .try_init()
        .map_err(|error| no_log(error.to_string()))
}
