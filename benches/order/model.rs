//! The model of pour orders and ways of correcting: made-up mixes, a hand that lands above its target, and a
//! painter who uses the real session to the end. The same for the same seed.
//!
//! A toner's landing errors belong to the mix and the toner, whatever the order and the way: orders and ways are
//! compared on the same hand.

use pourbook::catalogue::{ColourCode, Role, TonerCode};
use pourbook::mix::{
    Choice, How, Limits, Line, LinePart, Phase, Recipe, Refusal, Session, Start, Vessel, Way, order,
    weighable,
};
use pourbook::scale::Chance;
use pourbook::units::{Decimal, Density, Division, Grams, Millilitres, Share};

/// A formula and how much of it is wanted.
pub(crate) struct Mix {
    /// The formula, its lines in the order they were drawn in.
    pub(crate) recipe: Recipe,
    /// How much.
    pub(crate) volume: Millilitres,
    /// Where the hand's chance begins.
    hand: u64,
}

/// In which order a painter pours.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Order {
    /// As the formula was drawn.
    Formula,
    /// By mass, the largest first.
    LargestFirst,
    /// By mass, the smallest first.
    SmallestFirst,
    /// The order that the program offers.
    LeastRisk,
    /// The same, were every toner resolved on an empty cup.
    LeastRiskAnyFirst,
}

impl Order {
    /// Every order.
    pub(crate) const ALL: [Self; 5] =
        [Self::LargestFirst, Self::Formula, Self::SmallestFirst, Self::LeastRisk, Self::LeastRiskAnyFirst];

    fn of(self, mix: &Mix) -> Vec<usize> {
        let shares = mix.recipe.shares();
        let mut places = order::formula_order(&mix.recipe);
        match self {
            Self::Formula => {}
            Self::LargestFirst => places.sort_by_key(|place| std::cmp::Reverse(shares[*place])),
            Self::SmallestFirst => places.sort_by_key(|place| shares[*place]),
            Self::LeastRisk | Self::LeastRiskAnyFirst => {
                let mass = mix.recipe.mass_for(mix.volume);
                let smallest = weighable::smallest_weight(Division::TENTH, weighable::Accuracy::default());
                let smallest = smallest.filter(|_| self == Self::LeastRisk);
                places = order::least_risk(&mix.recipe, mass, Division::TENTH, smallest);
            }
        }
        places
    }
}

/// How a painter puts an overpour right.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Habit {
    /// Makes just so much more that it is right.
    Grow,
    /// Takes just so much out.
    DrawOff,
}

/// How a painter lands when topping up a toner that is in the cup already, as after a correction.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Hand {
    /// By the drop: a third as far above as in a pour (common practice, no source).
    Careful,
    /// As far above as in a pour.
    Same,
}

/// What became of a mix.
pub(crate) struct Outcome {
    /// The session at its end.
    pub(crate) session: Session,
    /// Everything poured less what was ordered: in the cup beyond the order, and what was drawn off.
    pub(crate) waste: Grams,
    /// What of that the corrections asked for, as they said themselves: the rest is right pours landing above.
    pub(crate) by_correcting: Grams,
    /// How many corrections it took.
    pub(crate) corrections: u32,
    /// What growing and drawing off were said to waste at the first correction.
    pub(crate) first: Option<(Grams, Grams)>,
}

/// The smallest and the largest share a toner is given.
const LEAST_SHARE: f64 = 0.002;
const MOST_SHARE: f64 = 0.8;
/// The hand's landing error is the size of a normal one with this spread, in grams: 0.24 g in the mean.
const HAND_G: f64 = 0.3;
/// The same when topping up by the drop.
const DROPS_G: f64 = 0.1;
/// More steps than any painter would take; a mix that is not done by then is left there.
const TOO_MANY: u32 = 300;

/// So many mixes of that seed.
pub(crate) fn mixes(seed: u64, count: usize) -> Vec<Mix> {
    let mut chance = Chance::new(seed);
    (0..count).map(|_| mix(&mut chance)).collect()
}

fn mix(chance: &mut Chance) -> Mix {
    // Even in the logarithm, drawn again until every share of the whole is within its bounds.
    let shares = loop {
        let count = 3 + chance.next() % 7;
        let parts: Vec<f64> =
            (0..count).map(|_| LEAST_SHARE * (MOST_SHARE / LEAST_SHARE).powf(chance.part())).collect();
        let sum: f64 = parts.iter().sum();
        let shares: Vec<f64> = parts.iter().map(|part| part / sum).collect();
        if shares.iter().all(|share| (LEAST_SHARE..=MOST_SHARE).contains(share)) {
            break shares;
        }
    };
    let lines = shares
        .iter()
        .zip('A'..)
        .map(|(share, code)| Line {
            toner: TonerCode::new(code.to_string()),
            name: format!("made-up toner {code}"),
            parts: decimal(share * 1_000.0, 2),
            density: Density::new(decimal(0.9 + 0.6 * chance.part(), 3)).unwrap(),
            tolerance: Share::ONE_PERCENT,
            price: None,
            place: None,
            swatch: None,
            part: LinePart::Colour,
        })
        .collect();
    let recipe = Recipe::new(
        ColourCode::new("MODEL"),
        "made up".to_owned(),
        "standard".to_owned(),
        Role::Ground,
        lines,
    )
    .unwrap();
    let volume = Millilitres::new(decimal(150.0 + 450.0 * chance.part(), 0));
    Mix { recipe, volume, hand: chance.next() }
}

#[expect(clippy::cast_possible_truncation, reason = "the model's numbers are small")]
fn decimal(number: f64, decimals: u32) -> Decimal {
    Decimal::new((number * 10_f64.powi(decimals.cast_signed())).round() as i64, decimals)
}

/// Weighs the mix to its end, or until there is none in sight: the session's phase tells.
pub(crate) fn weigh(mix: &Mix, order: Order, habit: Habit, hand: Hand) -> Result<Outcome, Refusal> {
    let mut session = Session::begin(Start {
        recipe: mix.recipe.clone(),
        volume: mix.volume,
        // Large enough that nothing but the mix decides: what fits is not the question here.
        vessel: Vessel {
            name: "large".to_owned(),
            brim: Millilitres::new(Decimal::from(1_000_000)),
            tare: Grams::ZERO,
        },
        limits: Limits { division: Division::TENTH, capacity: None },
        order: order.of(mix),
        version: None,
        job: None,
    })?;
    let mut hands: Vec<Chance> = (1..)
        .take(mix.recipe.lines().len())
        .map(|line| Chance::new(mix.hand.wrapping_mul(2 * line + 1)))
        .collect();
    let (mut drawn, mut by_correcting) = (Grams::ZERO, Grams::ZERO);
    let (mut corrections, mut first) = (0, None);
    for _ in 0..TOO_MANY {
        let event = match session.phase() {
            Phase::Weighing => {
                let goal = session.goal().ok_or(Refusal::NotComplete)?;
                let stop = session.shown_stop().ok_or(Refusal::NotComplete)?;
                let topping_up = hand == Hand::Careful && session.poured(goal.line).is_positive();
                let spread = if topping_up { DROPS_G } else { HAND_G };
                let above = (hands[goal.line].normal() * spread).abs();
                // Where less than a division is missing the scale must at least show that something came.
                let seen = Division::TENTH.round_up(session.holds() + Grams::new(Decimal::new(1, 6)));
                let landed = Division::TENTH.round(stop + Grams::new(decimal(above, 6))).max(seen);
                session.take(landed, How::Scale)?
            }
            Phase::Over(_) => {
                let ways = session.ways();
                let grow = choice(&ways, Way::Smallest)?;
                let draw = choice(&ways, Way::DrawOff)?;
                first = first.or(Some((grow.waste, draw.waste)));
                corrections += 1;
                let chosen = if habit == Habit::Grow { grow } else { draw };
                by_correcting += chosen.waste;
                session.steer(chosen)?
            }
            Phase::Drawing => {
                let down_to = session.draw_to().ok_or(Refusal::NotComplete)?;
                drawn += session.holds() - down_to;
                session.take_drawn(down_to, How::Scale)?
            }
            _ => break,
        };
        session.apply(&event)?;
    }
    let waste = session.holds() - session.ordered() + drawn;
    Ok(Outcome { session, waste, by_correcting, corrections, first })
}

fn choice(ways: &[Choice], way: Way) -> Result<&Choice, Refusal> {
    ways.iter().find(|choice| choice.way == way).ok_or(Refusal::NotOpen)
}
