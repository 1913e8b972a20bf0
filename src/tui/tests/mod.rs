//! The whole state machine, driven by messages alone: no scale, no book, no terminal.

mod corrections;
mod doubts;
mod keys;
mod mixing;
mod rehearsal;
mod rig;
mod saving;
mod scale_check;
mod scale_page;
mod taking_up;
mod whatever;
