//! Why a mix refuses something, in a sentence for the painter.

use crate::catalogue::TonerCode;
use thiserror::Error;

/// Why something cannot be done to a mix now.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum Refusal {
    /// The first event is not a start, or a start comes later.
    #[error("a mix begins with its start and has only one")]
    NotBegun,
    /// The start does not fit together.
    #[error("the mix cannot be begun: {0}")]
    BadStart(&'static str),
    /// It is over.
    #[error("this mix is ended: begin a new one")]
    Ended,
    /// It is put aside.
    #[error("this mix is put aside: take it up again first")]
    IsAside,
    /// It is not put aside.
    #[error("this mix is not put aside")]
    NotAside,
    /// A way out must be chosen first.
    #[error("the pour is over: choose what to do about it first")]
    ChooseFirst,
    /// There is nothing to choose about.
    #[error("nothing is over, so there is nothing to put right")]
    NothingOver,
    /// That way is not open.
    #[error("that way out is not open here: choose one of those on the screen")]
    NotOpen,
    /// Nothing was poured.
    #[error("the cup holds no more than before: nothing was poured")]
    NothingPoured,
    /// Nothing was taken out.
    #[error("the cup holds no less than before: nothing was taken out")]
    NothingTaken,
    /// More was taken out than there was.
    #[error("no more can be taken out than the cup holds")]
    TooMuchTaken,
    /// The readings do not follow on.
    #[error("the reading before this event is not what the cup held")]
    Gap,
    /// No such toner here.
    #[error("toner {0} is not in this formula")]
    NotInFormula(TonerCode),
    /// An order that is none.
    #[error("a pour order names each toner of the formula once")]
    BadOrder,
    /// Not everything is in.
    #[error("the mix is not complete: something is still to be poured or put right")]
    NotComplete,
    /// No reason was given.
    #[error("say why the mix is given up, in a word or two")]
    NoReason,
    /// No such pour.
    #[error("there is no such pour in this mix: choose one from the list")]
    NoSuchPour,
    /// It is booked so already.
    #[error("that is how it is booked already: type another toner or another tin")]
    SameAsBooked,
    /// Some of the mix is being drawn off.
    #[error("draw off first: what is taken out is booked as what the cup holds now")]
    DrawFirst,
    /// What became of a mix is said once it is done.
    #[error("say first that the mix is done, then what became of it")]
    NotDone,
    /// More is left than there was.
    #[error(
        "more is left in the cup than the book says it held. If thinner or hardener was added, say what the cup weighed \
         ready to spray; if not, look at the cup's own weight"
    )]
    MoreLeft,
    /// More was kept than was left.
    #[error("no more can be kept than was left in the cup")]
    MoreKept,
    /// What was thrown away has no reason.
    #[error("say why what was left is thrown away, in a word or two")]
    NoWasteReason,
    /// What came from a leftover does not come to what was poured.
    #[error("what the leftover is made of does not come to what was poured")]
    PartsDiffer,
    /// A leftover with this mix's hardener in it.
    #[error("hardener is in that leftover: it sets in the cup, and is no start of another mix")]
    HardenerIn,
    /// A leftover that is not the start.
    #[error("a leftover is the start of a mix: something is in the cup already")]
    NotEmpty,
    /// A tin without a label.
    #[error("say which tin it is, by its label")]
    NoTin,
}
