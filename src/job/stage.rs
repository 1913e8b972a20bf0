//! The stages of a topcoat: the mixes each was made of, and what a stage is taken to hold that was mixed more than once.
//!
//! 40 CFR 59.104(a)(2) has one content for each stage, and what was read of it does not say which that is where a stage
//! was mixed more than once. The average of 35 Ill. Adm. Code 211.1670 (read) is one over coatings of a day or a month, not
//! of a stage, and lets a mix that holds more stand behind one that holds less. So the highest of a stage's mixes is taken:
//! whoever may average comes out no higher. The average by volume is said beside it.

use super::{PerLitre, average, composite};
use crate::catalogue::Role;
use crate::units::{Millilitres, Notation};

/// What has to be said where a stage was mixed more than once.
pub const HIGHEST: &str = "A stage that was mixed more than once counts by the highest of its mixes: no rule that was \
                           read lets the mixes of a stage be averaged. Their average by volume (as 35 Ill. Adm. Code \
                           211.1670 averages coatings) is said beside it.";

/// Which stage of a topcoat a coat is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Stage {
    /// The first: colour.
    Base,
    /// Between base and clear.
    Mid,
    /// The last.
    Clear,
    /// None: an undercoat, a blender, a single-stage topcoat.
    Other,
}

impl Stage {
    /// The stage of a layer.
    pub const fn of(role: Role) -> Self {
        match role {
            Role::Ground | Role::Base => Self::Base,
            Role::Pearl => Self::Mid,
            Role::Clear => Self::Clear,
            _ => Self::Other,
        }
    }
}

/// A mix of a stage.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StageMix {
    /// What it is called.
    pub name: String,
    /// What it holds, by the limit's figure.
    pub figure: PerLitre,
    /// In how much, as that figure counts it: less water, or less water and exempt compounds, or all of it.
    pub volume: Millilitres,
}

/// A stage of a topcoat, as it was mixed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StageMixed {
    /// What the layer is called.
    pub layer: String,
    /// Which stage it is.
    pub stage: Stage,
    /// Its mixes; at least one.
    pub mixes: Vec<StageMix>,
}

impl StageMixed {
    /// What it is taken to hold: the highest of its mixes.
    pub fn taken(&self) -> PerLitre {
        self.mixes.iter().map(|mix| mix.figure).max().unwrap_or_default()
    }

    /// What its mixes hold on average, by volume: the same as if they had been poured together. None if it was mixed once.
    pub fn average(&self) -> Option<PerLitre> {
        let all: Vec<_> = self.mixes.iter().map(|mix| (mix.volume, mix.figure)).collect();
        if all.len() > 1 { average(&all) } else { None }
    }

    /// What is taken and how it was made, without the layer's name: `450 g/L, the highest of 2 mixes (mix 2: 400 g/L in
    /// 100 mL; …); by volume they average 420 g/L`.
    pub fn words(&self, notation: Notation) -> String {
        let taken = grams(self.taken(), notation);
        if let [mix] = self.mixes.as_slice() {
            return format!("{taken}, {}", mix.name);
        }
        let mixes: Vec<String> = self
            .mixes
            .iter()
            .map(|mix| {
                let volume = notation.volume(mix.volume, 1);
                format!("{}: {} in {volume}", mix.name, grams(mix.figure, notation))
            })
            .collect();
        let average = self.average().map_or_else(String::new, |average| {
            format!("; by volume they average {}", grams(average, notation))
        });
        format!("{taken}, the highest of {} mixes ({}){average}", mixes.len(), mixes.join("; "))
    }
}

/// `450 g/L`.
pub(super) fn grams(content: PerLitre, notation: Notation) -> String {
    format!("{} g/L", notation.number(content.in_tenths()))
}

/// The base coat, the midcoats and the clear coat, by what `of` takes of each stage.
fn parts(
    stages: &[StageMixed],
    of: impl Fn(&StageMixed) -> PerLitre,
) -> Option<(PerLitre, Vec<PerLitre>, PerLitre)> {
    let all = |stage: Stage| stages.iter().filter(move |one| one.stage == stage).map(&of);
    let only = |stage: Stage| {
        let mut all = all(stage);
        all.next().filter(|_| all.next().is_none())
    };
    Some((only(Stage::Base)?, all(Stage::Mid).collect(), only(Stage::Clear)?))
}

/// The composite of these stages, each by the highest of its mixes. None unless there is one base coat and one clear coat,
/// or if it is too large.
pub fn of_stages(stages: &[StageMixed]) -> Option<PerLitre> {
    let (base, mids, clear) = parts(stages, StageMixed::taken)?;
    composite(base, &mids, clear)
}

/// The same with each stage by the average of its mixes; none too where each was mixed once.
pub fn of_averages(stages: &[StageMixed]) -> Option<PerLitre> {
    stages.iter().find_map(StageMixed::average)?;
    let (base, mids, clear) = parts(stages, |stage| stage.average().unwrap_or_else(|| stage.taken()))?;
    composite(base, &mids, clear)
}

/// How the composite was made: `(450 + 700 + 2 × 480) / 4 = 527.5 g/L`. None if there is none.
pub fn sum_words(stages: &[StageMixed], notation: Notation) -> Option<String> {
    let (base, mids, clear) = parts(stages, StageMixed::taken)?;
    let number = |content: PerLitre| notation.number(content.in_tenths());
    let mut sum: Vec<String> = std::iter::once(base).chain(mids.iter().copied()).map(number).collect();
    sum.push(format!("2 × {}", number(clear)));
    let parts = mids.len().saturating_add(3);
    let whole = grams(composite(base, &mids, clear)?, notation);
    let averaged = of_averages(stages).map_or_else(String::new, |average| {
        format!("; with the averages of the mixes {}", grams(average, notation))
    });
    Some(format!("({}) / {parts} = {whole}{averaged}", sum.join(" + ")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::DecimalSign;

    fn gl(text: &str) -> PerLitre {
        PerLitre::new(text.parse().unwrap())
    }

    /// A stage of mixes, each with its content and its millilitres.
    fn stage(layer: &str, stage: Stage, mixes: &[(&str, &str, &str)]) -> StageMixed {
        let mix = |(name, figure, volume): &(&str, &str, &str)| StageMix {
            name: (*name).to_owned(),
            figure: gl(figure),
            volume: Millilitres::parse(volume).unwrap(),
        };
        StageMixed { layer: layer.to_owned(), stage, mixes: mixes.iter().map(mix).collect() }
    }

    fn three() -> Vec<StageMixed> {
        vec![
            stage("ground coat", Stage::Base, &[("mix 2", "400", "100"), ("mix 5", "450", "25")]),
            stage("pearl coat", Stage::Mid, &[("mix 3", "700", "80")]),
            stage("clear", Stage::Clear, &[("mix 6", "500", "60"), ("mix 4", "480", "140")]),
        ]
    }

    /// By hand: the ground (100·400 + 25·450)/125 = 410, the clear (60·500 + 140·480)/200 = 486; by the highest
    /// (450 + 700 + 2·500)/4 = 537.5, by the averages (410 + 700 + 2·486)/4 = 520.5.
    #[test]
    fn a_stage_mixed_twice_counts_by_its_highest_mix_and_says_its_average() {
        let stages = three();
        assert_eq!(stages[0].taken(), gl("450"));
        assert_eq!(stages[0].average(), Some(gl("410")));
        assert_eq!((stages[1].taken(), stages[1].average()), (gl("700"), None));
        assert_eq!(stages[2].average(), Some(gl("486")));
        assert_eq!(of_stages(&stages), Some(gl("537.5")));
        assert_eq!(of_averages(&stages), Some(gl("520.5")));
        assert_eq!(of_averages(&stages[1..2]), None);
    }

    #[test]
    fn what_was_taken_is_said_in_words() {
        let stages = three();
        assert_eq!(
            stages[0].words(Notation::METRIC),
            "450 g/L, the highest of 2 mixes (mix 2: 400 g/L in 100.0 mL; mix 5: 450 g/L in 25.0 mL); by volume they \
             average 410 g/L"
        );
        assert_eq!(stages[1].words(Notation::METRIC), "700 g/L, mix 3");
        let comma = Notation { decimal: DecimalSign::Comma, ..Notation::METRIC };
        assert_eq!(
            sum_words(&stages, comma).unwrap(),
            "(450 + 700 + 2 × 500) / 4 = 537,5 g/L; with the averages of the mixes 520,5 g/L"
        );
        let once = [stages[1].clone(), stage("base", Stage::Base, &[("1", "720", "1")])];
        assert_eq!(sum_words(&once, comma), None, "no clear coat");
        let clear = stage("clear", Stage::Clear, &[("2", "480", "1")]);
        let two = [once[1].clone(), clear.clone()];
        assert_eq!(sum_words(&two, comma).unwrap(), "(720 + 2 × 480) / 3 = 560 g/L");
        assert_eq!(of_stages(&[once[1].clone(), once[1].clone(), clear]), None, "two base coats");
    }
}
