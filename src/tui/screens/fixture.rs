//! Made-up mixes for the tests of the screens: the sketch's own colour, invented toners.

use crate::catalogue::{ColourCode, Place, ProductCode, Role, Swatch, TonerCode};
use crate::mix::{Event, How, Limits, Line, LinePart, Readied, Recipe, Session, Start, Vessel};
use crate::tui::widgets::record::SavedState;
use crate::units::{Density, Division, Grams, Millilitres, PricePerLitre, Share, parse_decimal};

pub(crate) fn g(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

pub(crate) fn ml(text: &str) -> Millilitres {
    Millilitres::parse(text).unwrap()
}

/// Code, name, parts, density, swatch.
const TONERS: [(&str, &str, &str, &str, &str); 6] = [
    ("K05", "carbon black", "3.15", "1.021", "#161616"),
    ("Y41", "yellow oxide", "56.40", "1.604", "#c9962e"),
    ("W10", "titanium white", "253.00", "1.482", "#f2f1ec"),
    ("B15", "phthalo blue", "12.55", "1.034", "#123a8c"),
    ("R20", "red oxide", "31.20", "1.377", "#8c2f1d"),
    ("M80", "colour binder", "69.90", "0.972", "#e9e4d4"),
];

pub(crate) fn recipe() -> Recipe {
    let lines = TONERS.map(|(code, name, parts, density, swatch)| Line {
        toner: TonerCode::new(code),
        name: name.to_owned(),
        parts: parse_decimal(parts).unwrap(),
        density: Density::new(parse_decimal(density).unwrap()).unwrap(),
        tolerance: Share::ONE_PERCENT,
        price: PricePerLitre::new(parse_decimal("61.50").unwrap()),
        place: None,
        swatch: Swatch::parse(swatch),
        part: LinePart::Colour,
    });
    let name = "Gannet White".to_owned();
    Recipe::new(ColourCode::new("PB-3140"), name, "standard".to_owned(), Role::Ground, lines.to_vec())
        .unwrap()
}

/// The same made ready to spray, 10 : 1 : 3 by volume.
pub(crate) fn readied_recipe() -> Recipe {
    let colour = recipe();
    let filled = colour.volume_of(colour.lines().iter().map(|line| Grams::new(line.parts)));
    let added = [
        (LinePart::Hardener, "H60", "hardener, medium", "1", "1.062"),
        (LinePart::Thinner, "T70", "thinner, medium", "3", "0.871"),
    ]
    .map(|(part, code, name, tenths, density)| {
        let density = Density::new(parse_decimal(density).unwrap()).unwrap();
        let volume = filled.times(parse_decimal(tenths).unwrap()).times(parse_decimal("0.1").unwrap());
        Line {
            toner: TonerCode::new(code),
            name: name.to_owned(),
            parts: density.mass_of(volume).decimal(),
            density,
            place: Some(Place::Last),
            part,
            ..colour.lines()[5].clone()
        }
    });
    let lines = colour.lines().iter().cloned().chain(added).collect();
    let (code, name, variant) = (colour.colour.clone(), colour.name.clone(), colour.variant.clone());
    let mut readied = Recipe::new(code, name, variant, colour.role, lines).unwrap();
    readied.readied = Some(Readied {
        product: ProductCode::new("GC-2"),
        name: "ground coat, activated".to_owned(),
        pot_life: Some(60),
        coats: Some(2),
    });
    readied
}

/// 310 mL of it ready to spray, for a job, nothing poured.
pub(crate) fn readied() -> Session {
    let start = Start {
        recipe: readied_recipe(),
        volume: ml("310"),
        order: (0..8).collect(),
        job: Some("26-118 tailgate".to_owned()),
        ..begun().start().clone()
    };
    Session::begin(start).unwrap()
}

/// 350 mL in a cup of 600, nothing poured.
pub(crate) fn begun() -> Session {
    let limits = Limits { division: Division::TENTH, capacity: Some(g("6200")) };
    let vessel = Vessel { name: "600".to_owned(), brim: ml("600"), tare: g("21.8") };
    let start = Start {
        recipe: recipe(),
        volume: ml("350"),
        vessel,
        limits,
        order: (0..6).collect(),
        version: None,
        job: None,
    };
    let mut session = Session::begin(start).unwrap();
    for (toner, tin) in [("K05", "23-118"), ("Y41", "24-007"), ("W10", "24-031")] {
        session
            .apply(&Event::TinTaken { toner: TonerCode::new(toner), tin: tin.to_owned(), marks: None })
            .unwrap();
    }
    session
}

/// Pours the current toner until the cup reads so much.
pub(crate) fn pour(session: &mut Session, reading: &str) {
    let event = session.take(g(reading), How::Scale).unwrap();
    session.apply(&event).unwrap();
}

/// Black and yellow are in and right, white is being poured.
pub(crate) fn half_poured() -> Session {
    let mut session = begun();
    pour(&mut session, "3.4");
    pour(&mut session, "66.1");
    session
}

/// White went over.
pub(crate) fn over() -> Session {
    let mut session = half_poured();
    pour(&mut session, "350.6");
    session
}

/// Something that does not belong was poured.
pub(crate) fn fouled() -> Session {
    let mut session = half_poured();
    let event = session.take_wrong(TonerCode::new("G33"), None, g("68.2"), How::Scale).unwrap();
    session.apply(&event).unwrap();
    session
}

/// Some is to be drawn off.
pub(crate) fn drawing() -> Session {
    let mut session = over();
    let ways = session.ways();
    let way = ways.iter().find(|way| way.way == crate::mix::Way::DrawOff).unwrap();
    let event = session.steer(way).unwrap();
    session.apply(&event).unwrap();
    session
}

/// Everything is in.
pub(crate) fn complete() -> Session {
    let mut session = begun();
    while let Some(stop) = session.shown_stop() {
        let event = session.take(stop, How::Scale).unwrap();
        session.apply(&event).unwrap();
    }
    session
}

/// The same, and said to be done.
pub(crate) fn finished() -> Session {
    let mut session = complete();
    let event = session.finish().unwrap();
    session.apply(&event).unwrap();
    session
}

/// What is poured is saved; the last is on its way.
pub(crate) fn saved(session: &Session) -> Vec<Option<SavedState>> {
    (0..session.recipe().lines().len())
        .map(|line| session.poured(line).is_positive().then_some(SavedState::Saved))
        .collect()
}
