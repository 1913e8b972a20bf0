//! The whole state machine, driven by messages alone: no scale, no book, no terminal.

mod bottom_line;
mod corrections;
mod cup;
mod cup_meanwhile;
mod cup_walk;
mod cups;
mod doubts;
pub(super) mod first_run;
mod formulas;
mod keypad;
mod keys;
mod landing;
mod mixing;
mod mouse;
mod notation;
mod put_right;
mod rehearsal;
mod rig;
mod saving;
mod scale_check;
mod scale_page;
mod scale_search;
mod scan;
mod shelf;
mod taking_up;
mod tins;
mod whatever;
