//! The screens of the stores manager's work.
