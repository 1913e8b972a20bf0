//! What the screens are made of: one file a widget. Each draws a plain struct into a buffer and keeps nothing.

pub mod banner;
pub mod closeup;
pub mod cup;
pub mod digits;
pub mod help;
pub mod keyline;
pub mod list;
pub mod options;
pub mod pen;
pub mod prompt;
pub mod proportion;
pub mod record;
pub mod steadiness;
