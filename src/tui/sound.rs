//! What is to be heard. A sound says something that the eye may miss; which it is, and whether any is, is set.

/// Something to be heard.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Sound {
    /// A pour was taken and is right, or another step is done.
    Right,
    /// A pour is over, or something does not belong.
    Over,
    /// The scale is lost, or something is not saved.
    Lost,
    /// It is time to pour more slowly.
    EaseOff,
    /// The wrong tin is in the hand.
    WrongTin,
    /// Something else wants to be looked at.
    Attention,
}

impl Sound {
    /// All of them.
    pub const ALL: [Self; 6] =
        [Self::Right, Self::Over, Self::Lost, Self::EaseOff, Self::WrongTin, Self::Attention];

    /// The name in settings.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Right => "right",
            Self::Over => "over",
            Self::Lost => "lost",
            Self::EaseOff => "ease-off",
            Self::WrongTin => "wrong-tin",
            Self::Attention => "attention",
        }
    }
}
