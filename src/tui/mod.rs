//! The full screen: state, update, view.
