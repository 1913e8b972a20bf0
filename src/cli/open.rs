//! The full screen: what the arguments say about it, handed to the bench.

use super::CliError;
use super::places::Places;
use crate::scale::Address;
use clap::Args;
use std::path::PathBuf;

/// How the bench is to be opened.
#[derive(Clone, Debug)]
pub struct OpenBench {
    /// The shop's folder, where one was named.
    pub shop: Option<PathBuf>,
    /// The book's file, where one was named.
    pub book: Option<PathBuf>,
    /// The scale, where one was named.
    pub scale: Option<Address>,
    /// The invented shop on a virtual bench, its data in a place of its own.
    pub demo: bool,
    /// Whether the bench weighs by itself.
    pub hands_free: bool,
    /// Where the virtual bench's chance begins.
    pub seed: u64,
}

/// What `pourbook demo` can be told.
#[derive(Debug, Args)]
pub(super) struct Demo {
    /// Let the bench weigh by itself, overpours included
    #[arg(long)]
    hands_free: bool,
    /// Where chance begins: the same number, the same mix
    #[arg(long, value_name = "N", default_value_t = 1)]
    seed: u64,
}

/// `pourbook` alone.
pub(super) fn bare(places: &Places) -> Result<(), CliError> {
    open(OpenBench {
        shop: places.named_shop(),
        book: places.named_book(),
        scale: places.scale()?,
        demo: places.is_demo(),
        hands_free: false,
        seed: 1,
    })
}

/// `pourbook demo`.
pub(super) fn demo(places: &Places, args: &Demo) -> Result<(), CliError> {
    open(OpenBench {
        shop: places.named_shop(),
        book: places.named_book(),
        scale: places.scale()?,
        demo: true,
        hands_free: args.hands_free,
        seed: args.seed,
    })
}

/// Opens the bench and comes back when it is left.
///
/// # Errors
/// It cannot be opened.
#[expect(clippy::needless_pass_by_value, reason = "the bench takes over what it is told")]
fn open(bench: OpenBench) -> Result<(), CliError> {
    tracing::debug!(?bench, "opening the bench");
    Err(CliError::failed("the bench is not wired in yet"))
}
