//! What a key can do. Each action has a name for settings, a word or two for the bottom line and a sentence
//! for the help.

/// Where a key is pressed: what the person is doing at that moment.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Context {
    /// A toner is to be poured.
    Bench,
    /// A leftover is to be poured in before the first toner.
    PourIn,
    /// A pour is over, or something does not belong: a way out is to be chosen.
    Ways,
    /// Some of the mix is to be taken out.
    Drawing,
    /// Everything is in.
    Complete,
    /// A colour is to be found by typing.
    Colours,
    /// How much, into which cup, in which order.
    Amount,
    /// The mixes that wait to be taken up again.
    Unfinished,
    /// The cups that are to be emptied.
    Cups,
    /// A cup came back from the booth.
    Emptying,
    /// A mix is taken up again: the cup is to be put back on the scale.
    TakingUp,
    /// The cup is off the scale in the middle of a mix.
    CupOff,
    /// The cup is back with another weight: it is asked why.
    CupBack,
    /// A tin was scanned that is not to be poured as it is.
    WrongTin,
    /// A line of text is asked for.
    Prompt,
    /// Yes or no.
    Confirm,
    /// What was said lately.
    Messages,
    /// The help is on the screen.
    Help,
    /// Another program has the book: one can look, not weigh.
    Look,
    /// The scale itself.
    Scale,
    /// The stores manager's shelf.
    Shelf,
    /// The owner's waste.
    Waste,
    /// The tins of one toner on it.
    Tins,
    /// A stocktake.
    Stocktake,
    /// A delivery from a file, before it is received.
    Delivery,
    /// What is kept of earlier mixes.
    Leftovers,
    /// The repairs.
    Jobs,
    /// One of them.
    Job,
    /// What to do with the marked formula.
    Formulas,
    /// A formula is written.
    Formula,
    /// Formulas are about to be taken in from a file.
    Import,
    /// A question of the first run.
    FirstRun,
    /// Anywhere else, and everywhere beside the others.
    Everywhere,
}

impl Context {
    /// All of them.
    pub const ALL: [Self; 33] = [
        Self::Bench,
        Self::PourIn,
        Self::Ways,
        Self::Drawing,
        Self::Complete,
        Self::Colours,
        Self::Amount,
        Self::Unfinished,
        Self::Cups,
        Self::Emptying,
        Self::TakingUp,
        Self::CupOff,
        Self::CupBack,
        Self::WrongTin,
        Self::Prompt,
        Self::Confirm,
        Self::Messages,
        Self::Help,
        Self::Look,
        Self::Scale,
        Self::Shelf,
        Self::Waste,
        Self::Tins,
        Self::Stocktake,
        Self::Delivery,
        Self::Leftovers,
        Self::Jobs,
        Self::Job,
        Self::Formulas,
        Self::Formula,
        Self::Import,
        Self::FirstRun,
        Self::Everywhere,
    ];

    /// The name in settings.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Bench => "bench",
            Self::PourIn => "pour-in",
            Self::Ways => "ways",
            Self::Drawing => "drawing",
            Self::Complete => "complete",
            Self::Colours => "colours",
            Self::Amount => "amount",
            Self::Unfinished => "unfinished",
            Self::Cups => "cups",
            Self::Emptying => "emptying",
            Self::TakingUp => "taking-up",
            Self::CupOff => "cup-off",
            Self::CupBack => "cup-back",
            Self::WrongTin => "wrong-tin",
            Self::Prompt => "prompt",
            Self::Confirm => "confirm",
            Self::Messages => "messages",
            Self::Help => "help",
            Self::Look => "look",
            Self::Scale => "scale",
            Self::Shelf => "shelf",
            Self::Waste => "waste",
            Self::Tins => "tins",
            Self::Stocktake => "stocktake",
            Self::Delivery => "delivery",
            Self::Leftovers => "leftovers",
            Self::Jobs => "jobs",
            Self::Job => "job",
            Self::Formulas => "formulas",
            Self::Formula => "formula",
            Self::Import => "import",
            Self::FirstRun => "first-run",
            Self::Everywhere => "everywhere",
        }
    }

    /// The context of that name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|context| context.name() == name)
    }

    /// What the person is doing, as the help's heading.
    pub const fn heading(self) -> &'static str {
        match self {
            Self::Bench => "Weighing",
            Self::PourIn => "Pouring a leftover in",
            Self::Ways => "Choosing a way out",
            Self::Drawing => "Drawing off",
            Self::Complete => "Everything is in",
            Self::Colours => "Finding a colour",
            Self::Amount => "How much, and into which cup",
            Self::Unfinished => "Mixes to go on with",
            Self::Cups => "Cups after spraying",
            Self::Emptying => "What is left in a cup",
            Self::TakingUp => "Going on with a mix",
            Self::CupOff => "The cup is off the scale",
            Self::CupBack => "The cup is back with another weight",
            Self::WrongTin => "The wrong tin",
            Self::Prompt => "Typing",
            Self::Confirm => "Yes or no",
            Self::Messages => "What was said lately",
            Self::Help => "This page",
            Self::Look => "Looking only",
            Self::Scale => "The scale itself",
            Self::Shelf => "The shelf",
            Self::Waste => "What was mixed and not sprayed",
            Self::Tins => "The tins of a toner",
            Self::Stocktake => "Stocktake",
            Self::Delivery => "A delivery from a file",
            Self::Leftovers => "What is kept of earlier mixes",
            Self::Jobs => "The repairs",
            Self::Job => "A repair",
            Self::Formulas => "What to do with a formula",
            Self::Formula => "Writing a formula",
            Self::Import => "Taking formulas in",
            Self::FirstRun => "Setting up",
            Self::Everywhere => "Everywhere",
        }
    }

    /// Whether letters and digits are text here, so that no action may be bound to one.
    pub const fn is_typing(self) -> bool {
        matches!(
            self,
            Self::Colours
                | Self::Shelf
                | Self::Waste
                | Self::Leftovers
                | Self::Jobs
                | Self::Amount
                | Self::Prompt
                | Self::Formula
                | Self::FirstRun
        )
    }
}

macro_rules! actions {
    ($($(#[$meta:meta])* $variant:ident = $name:literal, $label:literal, $sentence:literal;)+) => {
        /// Something a key can do.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum Action {
            $($(#[$meta])* #[doc = $sentence] $variant),+
        }

        impl Action {
            /// All of them.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The name in settings, as `next-tin`.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$variant => $name),+ }
            }

            /// What it does, in a sentence.
            pub const fn sentence(self) -> &'static str {
                match self { $(Self::$variant => $sentence),+ }
            }

            const fn plain_label(self) -> &'static str {
                match self { $(Self::$variant => $label),+ }
            }
        }
    };
}

actions! {
    Take = "take", "take it",
        "Takes what the cup holds now as poured; where it is short, as one of several goes.";
    Finish = "finish", "finish", "Says that the mix is done.";
    NextTin = "next-tin", "next tin", "Takes another tin of this toner; what came from the old one is booked to it first.";
    TakeProposed = "take-proposed", "this tin", "Says that this toner is poured from the tin that is proposed.";
    WrongToner = "wrong-toner", "wrong toner", "Says that what was poured is another toner than the one that was due.";
    TypeWeight = "type-weight", "type weight", "Takes a weight that is typed instead of read from the scale.";
    HandsFree = "hands-free", "hands-free", "Turns taking a steady right pour without a key on or off.";
    Ways = "options", "options", "Shows what could be done if the pour stopped here.";
    JumpToToner = "jump-to-toner", "jump to", "Turns to another toner; what was poured of this one is booked first.";
    Order = "order", "order", "Changes between the formula's own pour order and the one that risks least.";
    PutRight = "put-right", "put right", "Says that a pour was another toner, or came from another tin, than it is booked as.";
    TakenOut = "taken-out", "taken out", "Books that some of the mix was taken out of the cup.";
    SetAside = "set-aside", "put aside", "Puts the mix aside to go on with it later.";
    Abandon = "abandon", "give up", "Gives the mix up; asks why.";
    Choose1 = "choose-option-1", "choose", "Takes the first way out.";
    Choose2 = "choose-option-2", "choose", "Takes the second way out.";
    Choose3 = "choose-option-3", "choose", "Takes the third way out.";
    Choose4 = "choose-option-4", "choose", "Takes the fourth way out.";
    Choose5 = "choose-option-5", "choose", "Takes the fifth way out.";
    Choose6 = "choose-option-6", "choose", "Takes the sixth way out.";
    Colours = "colours", "colours", "Opens the colours, to begin a mix.";
    Unfinished = "unfinished", "unfinished", "Opens the mixes that wait to be taken up again.";
    Cups = "cups", "cups", "Opens the cups of mixes that are done: what was sprayed of them, kept or thrown away.";
    WithLeftover = "with-leftover", "leftover", "Turns through the leftovers of this colour, to begin the mix with one.";
    MakeReady = "make-ready", "made ready", "Turns through what the colour is made ready to spray with: each hardener of its product, and none.";
    Thinner = "thinner", "thinner", "Turns through the thinners of the product.";
    OfferedAmount = "offered-amount", "as offered", "Takes the volume that is offered: what the job asks for, or the least that can be weighed.";
    WithoutLeftover = "without-leftover", "without it", "Goes on without the leftover.";
    OpenShelf = "shelf", "shelf", "Opens the shelf: what there is of each toner, how long it lasts, what to order.";
    OpenWaste = "waste", "waste", "Opens the waste: what was mixed and not sprayed, when, why and what it cost.";
    OpenJobs = "jobs", "jobs", "Opens the jobs: what is repaired, where each stands and what comes next.";
    NewJob = "new-job", "new job", "Opens a new job: its name, vehicle, colour and panels are asked for.";
    ClosedJobs = "closed-jobs", "closed ones", "Shows the jobs that are closed, or the open ones again.";
    AnotherCard = "another-card", "card", "Notes a spray-out card that was made: its coats, over what, and with which gun.";
    CompareCard = "compare-card", "compare", "Notes what is seen of the marked card beside the car.";
    ChooseCard = "choose-card", "choose", "Chooses the marked card: the car gets as many coats as it has.";
    CoatsWithoutCard = "coats-without-card", "without card", "Says how many coats the car gets without a card; asks why.";
    MixLayer = "mix-layer", "mix", "Mixes the layer that is next; as long as no card is chosen, for its cards.";
    NotWaited = "not-waited", "do not wait", "Goes on although a time is not over; asks why.";
    Clearance = "clearance", "clearance", "Starts the time until the booth is clear, or stops it.";
    LayerDone = "layer-done", "layer done", "Says that the layer under way is done; asks why where it has not all that was planned.";
    WrongCoat = "wrong-coat", "wrong coat", "Notes that the last coat is not as it should be; it stays counted.";
    TakeBackCoat = "take-back-coat", "take coat back", "Takes the last coat back: it was counted and not sprayed; asks why.";
    OpenLayer = "open-layer", "open layer", "Opens the layer again that was said to be done last.";
    NoteOnJob = "job-note", "note", "Notes something on the job.";
    AmendJob = "amend-job", "amend", "Puts right what is painted: the vehicle, the panels, and the areas of single layers.";
    JobSheet = "job-sheet", "sheet", "Writes the job's sheet beside the book, as a page and as text.";
    CloseJob = "close-job", "close", "Closes the job; asks first where a layer is not done or a time runs.";
    ReopenJob = "reopen-job", "open again", "Opens a closed job again.";
    Seen = "seen", "seen", "Says that the warning of a pot life was seen.";
    Sort = "sort", "sort", "Sorts by the next of what the rows can be sorted by.";
    Period = "period", "time", "Turns to the next time: 30 days, 90 days, a year, all.";
    WentOver = "went-over", "went over", "Opens the toners that went over and what was done about it, with the mixes behind each.";
    ReadAgain = "read-again", "read again", "Reads the book anew.";
    ReadFile = "read-file", "read again", "Reads the file anew.";
    Receive = "receive", "receive", "Receives a tin that came: by hand, or by its barcode.";
    Delivery = "delivery", "delivery", "Receives a delivery from a CSV file: it is shown first, and then all of it is received or nothing.";
    Stocktake = "stocktake", "stocktake", "Opens the stocktake: tins on the scale one after another, what is found in them booked.";
    StirRack = "stir-rack", "rack stirred", "Says that the rack was stirred: every open tin on it.";
    Leftovers = "leftovers", "leftovers", "Opens what is kept of earlier mixes, to be looked through, opened and thrown away.";
    TinOpened = "tin-opened", "opened", "Says that the marked tin was opened.";
    TinStirred = "tin-stirred", "stirred", "Says that the marked tin was stirred.";
    TinEmptied = "tin-emptied", "empty", "Says that the marked tin is empty; asks first.";
    DiscardTin = "discard-tin", "throw away", "Throws the marked tin away with what is in it; asks why.";
    RecallLot = "recall-lot", "call back", "Says that the lot of the marked tin was called back; asks why.";
    OfTin = "of-tin", "of this tin", "Shows what came into the marked tin and went out of it alone, or of all tins again.";
    FindTin = "find-tin", "which tin", "Asks for the label of the tin that is counted next.";
    TypeEmpty = "type-empty", "empty tin", "Types what the marked tin weighs empty.";
    ThrowLeftover = "throw-leftover", "throw away", "Throws the marked leftover away; asks why.";
    ThrowExpired = "throw-expired", "throw expired", "Throws all leftovers on the list away that are past their day or of a lot called back; asks first.";
    ThrowAway = "throw-away", "throw away", "Throws away what is left in the cup; asks why.";
    AllSprayed = "all-sprayed", "all sprayed", "Says that nothing is left in the cup.";
    Ready = "ready", "ready to spray", "Notes what the cup weighs with thinner and hardener in it, before spraying.";
    ForJob = "for-job", "job", "Says on which repair it was sprayed.";
    PrintLabel = "print-label", "label", "Prints the label of this mix: until when, what to mind, and a code that brings it up again.";
    SaveAgain = "save-again", "save again", "Tries once more to write into the book what is not saved.";
    TipMore = "tip-more", "tip", "Tips the tin further, at the virtual bench.";
    TipLess = "tip-less", "tip", "Tips the tin less far, at the virtual bench.";
    Upright = "upright", "upright", "Sets the tin upright, at the virtual bench.";
    SpoonOut = "spoon-out", "spoon out", "Takes some of the mix out of the cup, at the virtual bench.";
    FullTin = "full-tin", "full tin", "Takes a full tin in the hand, at the virtual bench.";
    NewZero = "new-zero", "as it stands", "Takes what stands on the scale as the cup that the book has: the scale's zero has moved.";
    LiftCup = "lift-cup", "lift cup", "Lifts the cup off the scale or puts it back, at the virtual bench.";
    Up = "up", "move", "Moves the mark up.";
    Down = "down", "move", "Moves the mark down.";
    PageUp = "page-up", "page", "Moves the mark up by a screenful.";
    PageDown = "page-down", "page", "Moves the mark down by a screenful.";
    Previous = "previous", "which", "Turns to the one before.";
    Next = "next", "which", "Turns to the one after.";
    Accept = "accept", "accept", "Takes what is marked or typed.";
    Refuse = "refuse", "no", "Says no.";
    Skip = "skip", "leave open", "Leaves this question open and goes on to the next; nothing is written of it.";
    Back = "back", "back", "Goes back one step; nothing is changed.";
    EraseBack = "erase-back", "erase", "Erases the character before the cursor.";
    EraseForward = "erase-forward", "erase", "Erases the character at the cursor.";
    EraseAll = "erase-all", "erase all", "Erases all that was typed.";
    CursorLeft = "cursor-left", "cursor", "Moves the cursor one character left.";
    CursorRight = "cursor-right", "cursor", "Moves the cursor one character right.";
    CursorStart = "cursor-start", "cursor", "Moves the cursor to the beginning.";
    CursorEnd = "cursor-end", "cursor", "Moves the cursor to the end.";
    SetZero = "set-zero", "zero", "Asks the scale to set its zero; its answer is shown.";
    Tare = "tare", "tare", "Asks the scale to tare; its answer is shown. No mix needs it.";
    ClearTare = "clear-tare", "clear tare", "Asks the scale to forget its tare.";
    NextUnit = "next-unit", "next unit", "Asks the scale for its next unit.";
    FindScale = "find-scale", "find it", "Searches the scale's port for what speaks on it; nothing is asked that changes a scale.";
    CheckScale = "check-scale", "check it", "Checks the scale with a check weight; the result goes into the book.";
    TenWeighings = "ten-weighings", "ten weighings", "Weighs the same weight ten times, for the least that can be weighed.";
    OpenFormulas = "formulas", "formulas", "Opens what can be done with formulas: change, copy, add, retire, take in, give out.";
    ShowRetired = "show-retired", "retired", "Shows retired colours among the others, or leaves them out.";
    SaveFormula = "save-formula", "save", "Saves the formula; the version before it is kept.";
    NextLayer = "next-layer", "layer", "Opens the next layer; behind the last, a new one.";
    AddRow = "add-row", "add toner", "Adds a toner to the layer.";
    RemoveRow = "remove-row", "take out", "Takes the marked toner out of the layer.";
    WriteGood = "write-good", "write the rest", "Writes what can be read though some of it cannot.";
    RunningTotals = "running-totals", "totals", "Says whether the amounts of the file are running totals.";
    OpenScale = "scale", "scale", "Shows the scale itself: what comes in, how steady it is, its check weights.";
    Messages = "messages", "messages", "Shows what was said lately, to be read again.";
    Mouse = "mouse", "mouse", "Heeds the mouse, or leaves it to the terminal, so that text can be copied.";
    Help = "help", "help", "Shows every key that does something here.";
    Suspend = "suspend", "suspend", "Stops the program for a while and goes back to the shell.";
    Quit = "quit", "quit", "Ends the program; a mix under way can be taken up again.";
}

impl Action {
    /// The action of that name.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|action| action.name() == name)
    }

    /// What it does, in a word or two for the bottom line.
    pub const fn label(self, context: Context) -> &'static str {
        match (self, context) {
            (Self::Accept, Context::Colours) => "how much",
            (Self::Accept, Context::Amount) => "begin",
            (Self::Accept, Context::Unfinished) => "go on with it",
            (Self::Accept, Context::Shelf) => "its tins",
            (Self::Accept, Context::Leftovers) => "its events",
            (Self::Previous | Self::Next, Context::Waste) => "by",
            (Self::Accept, Context::Stocktake) => "book it",
            (Self::Accept, Context::Delivery) => "receive all",
            (Self::Accept, Context::Jobs | Context::Waste) => "open it",
            (Self::Accept, Context::Job) => "do that",
            (Self::Previous | Self::Next, Context::Job) => "which card",
            (Self::TypeWeight, Context::Stocktake) => "type content",
            (Self::Up | Self::Down, Context::Tins | Context::Stocktake) => "tin",
            (Self::PageUp | Self::PageDown, Context::Tins) => "what came and went",
            (Self::Accept, Context::Cups) => "this one",
            (Self::Accept, Context::Emptying) => "keep it",
            (Self::Accept, Context::TakingUp | Context::FirstRun) => "go on",
            (Self::Accept, Context::WrongTin) => "I know",
            (Self::JumpToToner, Context::WrongTin) => "turn to it",
            (Self::WrongToner, Context::WrongTin) => "it is in the cup",
            (Self::Accept, Context::Confirm) => "yes",
            (Self::Accept, Context::Scale) => "take it",
            (Self::Accept, Context::Formula) => "next",
            (Self::Accept, Context::Formulas) => "do it",
            (Self::Accept, Context::Import) => "write",
            (Self::Up | Self::Down, Context::Import) => "column",
            (Self::Previous | Self::Next, Context::Import) => "what it is",
            (Self::Up | Self::Down, Context::Scale) => "weight",
            (Self::LiftCup, Context::CupOff) => "move cup",
            (Self::NewZero, Context::CupOff) => "cup is on it",
            (Self::Accept, Context::Ways | Context::CupBack) => "take the marked one",
            (Self::Take, Context::Drawing) => "taken out",
            (Self::Up | Self::Down, Context::Amount) => "cup",
            (Self::Previous | Self::Next, Context::Colours) => "layer",
            _ => self.plain_label(),
        }
    }

    /// Which way out it chooses, from 0.
    pub const fn choice(self) -> Option<usize> {
        Some(match self {
            Self::Choose1 => 0,
            Self::Choose2 => 1,
            Self::Choose3 => 2,
            Self::Choose4 => 3,
            Self::Choose5 => 4,
            Self::Choose6 => 5,
            _ => return None,
        })
    }

    /// Whether holding the key down does it again and again. What takes or books something never does.
    pub const fn repeats(self) -> bool {
        matches!(
            self,
            Self::TipMore
                | Self::TipLess
                | Self::Up
                | Self::Down
                | Self::PageUp
                | Self::PageDown
                | Self::EraseBack
                | Self::EraseForward
                | Self::CursorLeft
                | Self::CursorRight
        )
    }
}
