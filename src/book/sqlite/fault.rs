//! What SQLite reports, in words.

use crate::book::StoreError;
use rusqlite::{Error, ErrorCode};
use std::path::Path;

/// That error of that book.
pub(super) fn words(path: &Path, error: &Error) -> StoreError {
    let path = path.to_owned();
    let problem = crate::units::clean(&error.to_string());
    match error {
        Error::SqliteFailure(failure, _) => match failure.code {
            ErrorCode::NotADatabase => StoreError::NotABook { path },
            ErrorCode::DiskFull => StoreError::DiskFull { path },
            ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked => StoreError::Busy { path },
            ErrorCode::ReadOnly if failure.extended_code == rusqlite::ffi::SQLITE_READONLY_DBMOVED => {
                StoreError::Gone { path }
            }
            ErrorCode::ReadOnly | ErrorCode::PermissionDenied => StoreError::ReadOnly { path },
            ErrorCode::CannotOpen => StoreError::Open { path, problem },
            ErrorCode::DatabaseCorrupt => StoreError::Damaged { path, problem },
            ErrorCode::SystemIoFailure | ErrorCode::FileLockingProtocolFailed => {
                StoreError::Disk { path, problem }
            }
            _ => StoreError::Other { path, problem },
        },
        Error::FromSqlConversionFailure(..)
        | Error::IntegralValueOutOfRange(..)
        | Error::InvalidColumnType(..)
        | Error::Utf8Error(..) => StoreError::Unreadable { path, problem },
        _ => StoreError::Other { path, problem },
    }
}
