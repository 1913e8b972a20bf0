//! Mixes to test the book with. Everything in them is invented.

use super::{By, Envelope, Ids, Journal, MixId};
use crate::catalogue::{ColourCode, Role, TonerCode};
use crate::mix::{Event, How, Limits, Line, Phase, Recipe, Session, Start, Vessel, Way};
use crate::units::{Decimal, Density, Division, Grams, Millilitres, PricePerLitre, Share, Stamp};

pub(super) fn grams(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

fn recipe(lines: &[(&str, i64, i64)]) -> Recipe {
    let lines = lines
        .iter()
        .map(|&(code, parts, hundredths)| Line {
            toner: TonerCode::new(code),
            name: format!("toner {code}"),
            parts: Decimal::from(parts),
            density: Density::new(Decimal::new(hundredths, 2)).unwrap(),
            tolerance: Share::ONE_PERCENT,
            price: PricePerLitre::new(Decimal::TEN),
            place: None,
            swatch: None,
        })
        .collect();
    Recipe::new(ColourCode::new("PB-0000"), "Test Grey".into(), "standard".into(), Role::Ground, lines)
        .unwrap()
}

/// 150 mL of four toners.
pub(super) fn start() -> Start {
    Start {
        recipe: recipe(&[("A", 62, 140), ("B", 30, 110), ("C", 7, 90), ("D", 1, 120)]),
        volume: Millilitres::parse("150").unwrap(),
        vessel: Vessel { name: "600".into(), brim: Millilitres::parse("600").unwrap(), tare: grams("21.4") },
        limits: Limits { division: Division::TENTH, capacity: Some(grams("7500")) },
        order: vec![0, 1, 2, 3],
        version: None,
    }
}

/// What a painter did of whom nothing good can be expected, from a list of numbers.
pub(super) fn muddle(seed: &[(u8, u16)]) -> Vec<Event> {
    let mut events = vec![Event::Started(start())];
    let mut mix = Session::fold(&events).unwrap();
    for &(what, how_much) in seed {
        let amount = Grams::new(Decimal::new(i64::from(how_much), 1));
        let (tin, foreign) = (format!("24-{how_much:03}"), TonerCode::new(format!("Z{}", what % 3)));
        let event = match (mix.phase(), what % 16) {
            (Phase::Over(_) | Phase::Fouled, n) => {
                let ways = mix.ways();
                let usable: Vec<_> = ways.iter().filter(|choice| choice.way != Way::Restart).collect();
                mix.steer(usable[usize::from(n) % usable.len()])
            }
            (Phase::Drawing, _) => mix.take_drawn((mix.holds() - amount).max(Grams::ZERO), How::Scale),
            (Phase::Aside, 15) | (_, 14) if how_much < 20 => mix.abandon("spilt"),
            (Phase::Aside, _) => mix.take_up(amount),
            (_, 0) => mix.set_aside(),
            (_, 1) => mix.turn_to(usize::from(how_much) % 4),
            (_, 2) => mix.take_wrong(
                foreign,
                Some(&tin),
                mix.holds() + amount.times(Decimal::new(1, 2)),
                How::Typed,
            ),
            (_, 3) => mix.take_drawn(mix.holds() - amount.times(Decimal::new(1234, 5)), How::Scale),
            (_, 4) => mix.take(mix.holds() + amount, How::Scale),
            (_, 5) => Ok(Event::TinTaken { toner: TonerCode::new("A"), tin, marks: None }),
            (_, 6) => Ok(Event::Reordered { order: vec![3, 2, 1, 0] }),
            (_, 8 | 9) => {
                let toners = ["A", "B", "C", "D", "Z1"];
                let toner = TonerCode::new(toners[usize::from(how_much) % toners.len()]);
                mix.rebook(usize::from(how_much) % 3, toner, (how_much % 2 == 0).then_some(tin))
            }
            _ => match mix.goal() {
                Some(goal) => mix.take(Division::TENTH.round(goal.stop), How::Scale),
                None => mix.finish(),
            },
        };
        if let Ok(event) = event
            && mix.apply(&event).is_ok()
        {
            events.push(event);
        }
    }
    events
}

/// A whole mix without a fault.
pub(super) fn whole() -> Vec<Event> {
    muddle(&[(7, 0); 5])
}

pub(super) fn by() -> By {
    By { bench: "bench 1".into(), operator: "Robin".into() }
}

/// Those events as the book keeps them, a second apart.
pub(super) fn envelopes(ids: &mut Ids, events: &[Event]) -> (MixId, Vec<Envelope>) {
    let mut at = Stamp(1_750_000_000_000_000);
    let mix = ids.mix(at);
    let (mut journal, first) = Journal::begin(mix, &events[0], ids.event(at), at, &by()).unwrap();
    let mut envelopes = vec![first];
    for event in &events[1..] {
        at.0 += 1_000_000;
        envelopes.push(journal.record(event, ids.event(at), at, &by()).unwrap());
    }
    (mix, envelopes)
}
