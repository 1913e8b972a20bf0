//! Mixes to test the book with. Everything in them is invented.

use super::{Account, By, Envelope, Ids, Journal, MixId, Posting};
use crate::catalogue::{ColourCode, Role, TonerCode};
use crate::mix::{Ending, Event, How, Limits, Line, LinePart, Phase, Recipe, Session, Start, Vessel, Way};
use crate::units::{Decimal, Density, Division, Grams, Millilitres, PricePerLitre, Share, Stamp};

pub(crate) fn grams(text: &str) -> Grams {
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
            part: LinePart::Colour,
        })
        .collect();
    Recipe::new(ColourCode::new("PB-0000"), "Test Grey".into(), "standard".into(), Role::Ground, lines)
        .unwrap()
}

/// 150 mL of four toners.
pub(crate) fn start() -> Start {
    Start {
        recipe: recipe(&[("A", 62, 140), ("B", 30, 110), ("C", 7, 90), ("D", 1, 120)]),
        volume: Millilitres::parse("150").unwrap(),
        vessel: Vessel { name: "600".into(), brim: Millilitres::parse("600").unwrap(), tare: grams("21.4") },
        limits: Limits { division: Division::TENTH, capacity: Some(grams("7500")) },
        order: vec![0, 1, 2, 3],
        version: None,
        job: None,
    }
}

/// What a painter did of whom nothing good can be expected, from a list of numbers.
pub(crate) fn muddle(seed: &[(u8, u16)]) -> Vec<Event> {
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
            (Phase::Finished, _) if mix.emptied().is_none() => {
                mix.empty(ending(&mix, what, how_much), How::Scale)
            }
            (_, 10) => {
                let made_of = [("A", 7), ("Z1", i64::from(how_much % 3)), ("B", 2)];
                let made_of = made_of
                    .map(|(toner, mass)| (TonerCode::new(toner), Grams::from_micrograms(mass * 1_234_567)));
                let poured = Grams::from_micrograms(i64::from(how_much) * 20_001);
                mix.take_leftover(OLD, &made_of, mix.holds() + poured, How::Scale)
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

/// The mix that the leftovers of a muddle are of.
const OLD: &str = "0197725b-bc00-7000-8000-0000000000ff";

/// Some of it sprayed, the rest kept or thrown away, with thinner or without.
fn ending(mix: &Session, what: u8, how_much: u16) -> Ending {
    let part = Decimal::new(i64::from(how_much), 0) / Decimal::from(400);
    let keep = what.is_multiple_of(2);
    Ending {
        ready: (what.is_multiple_of(3)).then(|| mix.holds().times(Decimal::new(14, 1))),
        left: mix.holds().times(part),
        keep,
        use_by: keep.then(|| "2026-12-31".to_owned()),
        reason: Some("no use for it".to_owned()),
        job: (what.is_multiple_of(5)).then(|| format!("R-{how_much}")),
    }
}

/// A whole mix without a fault.
pub(crate) fn whole() -> Vec<Event> {
    muddle(&[(7, 0); 5])
}

pub(crate) fn by() -> By {
    By { bench: "bench 1".into(), operator: "Robin".into() }
}

/// An event of the stock as the book keeps it: it stands alone.
pub(crate) fn alone(
    ids: &mut Ids,
    at: Stamp,
    kind: &str,
    body: &str,
    postings: &[(&str, &str, i64)],
) -> Envelope {
    let id = ids.event(at);
    Envelope {
        id,
        at,
        bench: "bench 1".into(),
        operator: "Robin".into(),
        subject: id.alone(),
        sequence: 0,
        kind: kind.into(),
        body: body.into(),
        postings: postings
            .iter()
            .map(|&(account, toner, micrograms)| Posting {
                account: Account::parse(account),
                toner: TonerCode::new(toner),
                micrograms,
            })
            .collect(),
    }
}

/// Those events as the book keeps them, a second apart.
pub(crate) fn envelopes(ids: &mut Ids, events: &[Event]) -> (MixId, Vec<Envelope>) {
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
