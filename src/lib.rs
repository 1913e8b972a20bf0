//! Pourbook: the mixing bench of a vehicle refinish shop.
//!
//! The house, from the ground up; a floor knows only what lies below it.
//!
//! - [`units`]: grams, millilitres, density, share, division, money; exact, and never mixed up
//! - [`metrology`]: whether a scale is right: classes, check weights, the daily check
//! - [`catalogue`]: toners, cups and colours from the shop's own files
//! - [`mix`]: targets, tolerance, correction and the session; pure arithmetic, no clock
//! - [`scale`]: from bytes on a wire to a weight that can be trusted
//! - [`barcode`]: what a scanner sends: a burst of keys, and what is written in the code
//! - [`book`]: where every gram went, on disk
//! - [`stock`]: the shelf: tins, lots, leftovers, and where their paint has gone
//! - [`job`]: the repair: what has happened to it and what comes next, how much to mix, its cards, its clock, its solvent
//! - [`report`]: the owner's and the stores manager's figures, from the book
//! - [`settings`]: what can be set, what holds, and where each of it came from
//! - [`demo_past`]: the invented shop's last months, for the demo's book
//! - [`tui`]: the bench on the full screen
//! - [`cli`]: one file a command

pub mod barcode;
pub mod book;
pub mod catalogue;
pub mod cli;
pub mod demo_past;
pub mod job;
pub mod metrology;
pub mod mix;
pub mod report;
pub mod scale;
pub mod settings;
pub mod stock;
pub mod tui;
pub mod units;
