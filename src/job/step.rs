//! What comes next in a job, as data and as a sentence.

use super::event::{Lacks, Timer};
use super::standing::Short;
use super::{Countdown, Job};
use crate::book::MixId;
use crate::catalogue::Role;
use crate::units::{Millilitres, Stamp};

/// What somebody who sees the mixes knows of one, beside what the job was told.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MixStands {
    /// It is under way or put aside: it cannot be sprayed.
    UnderWay,
    /// It is done, and nobody has said yet what was left of it.
    InCup,
    /// Nothing is known of it, or nothing is left to do.
    Unknown,
}

/// What comes next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// Spray-out cards of a layer.
    MakeCards {
        /// Which layer.
        layer: Role,
    },
    /// Hold the cards against the car and choose.
    ChooseCard {
        /// Which layer.
        layer: Role,
    },
    /// Mix a layer.
    Mix {
        /// Which.
        layer: Role,
        /// How much of it is asked for, ready to spray.
        asked: Option<Millilitres>,
    },
    /// Go on with a mix that was begun and is not done.
    GoOn {
        /// Of which layer.
        layer: Role,
        /// Which.
        mix: MixId,
    },
    /// Wait until a time is over.
    Wait {
        /// What for.
        timer: Timer,
        /// Its length.
        countdown: Countdown,
    },
    /// Spray a coat.
    Spray {
        /// Of which layer.
        layer: Role,
        /// Which coat.
        coat: u32,
        /// Of how many.
        of: Option<u32>,
    },
    /// Bake a layer.
    Bake {
        /// Which.
        layer: Role,
        /// How long, in minutes.
        minutes: u32,
    },
    /// Say that a layer is done.
    Finish {
        /// Which.
        layer: Role,
    },
    /// Weigh what is left of a layer that is done: it is what the shop learns the next amount from.
    WeighBack {
        /// Of which layer.
        layer: Role,
        /// Of which mix.
        mix: MixId,
    },
    /// All is done: close the job.
    Close,
    /// Nothing: it is closed.
    Closed,
}

impl Job {
    /// What comes next at that time: cards before anything is mixed for the car, then a layer after the other, from the
    /// panel outwards. Where nobody said how many coats a layer gets, another coat is next until the layer is said to be
    /// done.
    pub fn next(&self, now: Stamp) -> Step {
        self.next_beside(now, |_| MixStands::Unknown)
    }

    /// The same where somebody knows how the mixes stand: what is not mixed yet cannot be sprayed, and what is left in the
    /// cup of a layer that is done is weighed before another is mixed or the job closed.
    pub fn next_beside(&self, now: Stamp, stands: impl Fn(MixId) -> MixStands) -> Step {
        let step = self.next_to_do(now, |mix| stands(mix) == MixStands::UnderWay);
        let is_pause =
            matches!(step, Step::Mix { .. } | Step::Close | Step::Wait { timer: Timer::Clearance, .. });
        let done = self.standings().filter(|layer| is_pause && layer.finished.is_some());
        let left = done.flat_map(|layer| layer.mixes.into_iter().map(move |mix| (layer.plan.role, mix)));
        let mut in_cups = left.filter(|(_, mix)| stands(*mix) == MixStands::InCup);
        in_cups.next().map_or(step, |(layer, mix)| Step::WeighBack { layer, mix })
    }

    fn next_to_do(&self, now: Stamp, is_under_way: impl Fn(MixId) -> bool) -> Step {
        if self.closed.is_some() {
            return Step::Closed;
        }
        for layer in self.standings() {
            let role = layer.plan.role;
            let is_open = layer.finished.is_none() && layer.coats.is_empty() && layer.mixes.is_empty();
            if Self::wants_cards(role) && is_open && layer.chosen.is_none() && layer.unmatched.is_none() {
                // One without a coat is there to compare with.
                let has_card = self.cards().any(|card| card.made.layer == role && card.made.coats > 0);
                return if has_card {
                    Step::ChooseCard { layer: role }
                } else {
                    Step::MakeCards { layer: role }
                };
            }
        }
        if let Some(layer) = self.standings().find(|layer| layer.finished.is_none()) {
            let role = layer.plan.role;
            if layer.is_covered() == Some(true) || layer.is_left_without(Lacks::Coats) {
                return match layer.bake {
                    Some(run) if run.is_running(now) => {
                        Step::Wait { timer: Timer::Bake { layer: role }, countdown: run.countdown }
                    }
                    _ => match layer.short() {
                        Some(Short::Bake { minutes }) => match self.waits_for(role, now) {
                            Some((timer, countdown)) => Step::Wait { timer, countdown },
                            None => Step::Bake { layer: role, minutes },
                        },
                        _ => Step::Finish { layer: role },
                    },
                };
            }
            if layer.mixes.is_empty() && layer.coats.is_empty() {
                return Step::Mix { layer: role, asked: layer.plan.asked };
            }
            let all_wait = layer.coats.is_empty() && layer.mixes.iter().all(|mix| is_under_way(*mix));
            if let Some(mix) = layer.mixes.last().copied().filter(|_| all_wait) {
                return Step::GoOn { layer: role, mix };
            }
            return match self.waits_for(role, now) {
                Some((timer, countdown)) => Step::Wait { timer, countdown },
                None => Step::Spray { layer: role, coat: layer.next_coat(), of: layer.wanted },
            };
        }
        match self.time(Timer::Clearance).filter(|run| run.is_running(now)) {
            Some(run) => Step::Wait { timer: Timer::Clearance, countdown: run.countdown },
            None => Step::Close,
        }
    }
}

impl Step {
    /// A word for it, for programs: `spray`.
    pub const fn word(self) -> &'static str {
        match self {
            Self::MakeCards { .. } => "make-cards",
            Self::ChooseCard { .. } => "choose-card",
            Self::Mix { .. } => "mix",
            Self::GoOn { .. } => "go-on",
            Self::Wait { .. } => "wait",
            Self::Spray { .. } => "spray",
            Self::Bake { .. } => "bake",
            Self::Finish { .. } => "finish",
            Self::WeighBack { .. } => "weigh-back",
            Self::Close => "close",
            Self::Closed => "closed",
        }
    }

    /// The layer it is about, if it is about one.
    pub const fn layer(self) -> Option<Role> {
        match self {
            Self::MakeCards { layer }
            | Self::ChooseCard { layer }
            | Self::Mix { layer, .. }
            | Self::GoOn { layer, .. }
            | Self::Spray { layer, .. }
            | Self::Bake { layer, .. }
            | Self::Finish { layer }
            | Self::WeighBack { layer, .. } => Some(layer),
            Self::Wait { timer, .. } => timer.layer(),
            Self::Close | Self::Closed => None,
        }
    }

    /// For a person; `volume` writes a volume as the person's settings have it.
    pub fn words(self, now: Stamp, volume: impl Fn(Millilitres) -> String) -> String {
        match self {
            Self::MakeCards { layer } => {
                format!("make spray-out cards of the {}, one for each count of coats", layer.name())
            }
            Self::ChooseCard { layer } => {
                format!("hold the cards against the car and choose the coats of the {}", layer.name())
            }
            Self::Mix { layer, asked: Some(asked) } => {
                format!("mix {} of {}, ready to spray", volume(asked), layer.name())
            }
            Self::Mix { layer, asked: None } => format!("mix the {}", layer.name()),
            Self::GoOn { layer, .. } => {
                format!("go on with the mix of the {}: it is not done", layer.name())
            }
            Self::Wait { timer, countdown } => {
                format!("wait for {}: {}", timer.name(), countdown.at(now).words())
            }
            Self::Spray { layer, coat, of: Some(of) } => {
                format!("spray coat {coat} of {of} of the {}", layer.name())
            }
            Self::Spray { layer, coat, of: None } => {
                format!("spray coat {coat} of the {}, or say that it is done", layer.name())
            }
            Self::Bake { layer, minutes } => format!("bake the {} for {minutes} min", layer.name()),
            Self::Finish { layer } => format!("look at the {}, and say that it is done", layer.name()),
            Self::WeighBack { layer, .. } => {
                format!("weigh what is left of the {} in its cup", layer.name())
            }
            Self::Close => "everything is sprayed: close the job".to_owned(),
            Self::Closed => "nothing: the job is closed".to_owned(),
        }
    }
}
