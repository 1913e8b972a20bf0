//! Labels of mixes from an invented shop; the code on them read back by a decoder that is not ours.

#![expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "a picture of some hundred dots is drawn"
)]

use super::layout::{Alphabet, HEIGHT, Item, WIDTH, lay_out};
use super::*;
use crate::book::{By, Ids};
use crate::catalogue::TonerCode;
use crate::mix::{Additions, How, Limits, Start, Vessel};
use crate::units::{Division, Grams, Millilitres};
use std::collections::BTreeMap;

const MINUTE: i64 = 60_000_000;

fn g(text: &str) -> Grams {
    Grams::parse(text).unwrap()
}

/// Hours and minutes since the beginning, so that a test has no zone.
fn when(at: Stamp) -> String {
    let minutes = at.0 / MINUTE;
    format!("2026-11-{:02} {:02}:{:02}", 20 + minutes / 1_440, minutes / 60 % 24, minutes % 60)
}

fn by(operator: &str) -> By {
    By { bench: "bench 1".to_owned(), operator: operator.to_owned() }
}

/// A mix of that layer of the demo's pearl colour, each event a minute after the one before, the first at 08:00.
struct Made {
    mix: MixId,
    events: Vec<Envelope>,
}

fn recipe(catalogue: &Catalogue, role: Role, ready: bool) -> Recipe {
    let colour = catalogue.colour("PB-3140").unwrap();
    let layer = colour.layers.iter().find(|layer| layer.role == role).unwrap();
    let recipe = Recipe::of_layer(catalogue, colour, layer).unwrap();
    if !ready {
        return recipe;
    }
    recipe.activated(catalogue, catalogue.product_for(layer).unwrap(), Additions::default()).unwrap()
}

fn made(recipe: Recipe, operator: &str, pours: usize, end: bool) -> Made {
    let mut ids = Ids::counted(11);
    let mut at = Stamp(8 * 60 * MINUTE);
    let mix = ids.mix(at);
    let order = (0..recipe.lines().len()).collect();
    let start = Event::Started(Start {
        order,
        recipe,
        volume: Millilitres::new(100.into()),
        vessel: Vessel { name: "600".into(), brim: Millilitres::new(600.into()), tare: g("20") },
        limits: Limits { division: Division::TENTH, capacity: None },
        version: None,
        job: None,
    });
    let (mut journal, first) = Journal::begin(mix, &start, ids.event(at), at, &by(operator)).unwrap();
    let mut events = vec![first];
    let mut tell = |journal: &mut Journal, event: &Event| {
        at = Stamp(at.0 + MINUTE);
        events.push(journal.record(event, ids.event(at), at, &by(operator)).unwrap());
    };
    for _ in 0..pours {
        let Some(stop) = journal.session().shown_stop() else { break };
        let pour = journal.session().take(stop, How::Scale).unwrap();
        tell(&mut journal, &pour);
    }
    if end {
        tell(&mut journal, &Event::Finished);
    }
    Made { mix, events }
}

impl Made {
    fn label(&self, catalogue: &Catalogue) -> Label {
        Label::of(catalogue, 412, self.mix, &self.events).unwrap()
    }
}

/// The ground coat, ready to spray and done.
fn ground() -> Label {
    let demo = Catalogue::demo();
    made(recipe(&demo, Role::Ground, true), "Robin", 99, true).label(&demo)
}

#[test]
fn a_mix_that_is_ready_has_all_that_was_entered() {
    let label = ground();
    assert_eq!(label.text(&when).join("\n"), include_str!("ground.txt").trim_end());
    let State::Mixed(at) = label.state else { panic!("{:?}", label.state) };
    let UseBy::Until(until) = label.use_by else { panic!("{:?}", label.use_by) };
    // Hardener goes in after the colour and before the thinner, two events before the end; the sheet says 120 minutes.
    assert_eq!(until.0 - at.0, (120 - 2) * MINUTE);
}

/// What was kept has one day until which it may be used, in the text and on the label: the one that was said of it, or the
/// pot life where that is over before.
#[test]
fn a_kept_leftover_has_its_own_day_alone() {
    let demo = Catalogue::demo();
    let kept = |ready: bool, use_by: Option<&str>| {
        let mut made = made(recipe(&demo, Role::Ground, ready), "Robin", 99, true);
        let mut journal = Journal::fold(made.mix, &made.events).unwrap();
        let before = journal.session().holds();
        let emptied = Event::Emptied(crate::mix::Emptied {
            before,
            left: g("20"),
            how: How::Scale,
            kept: g("20"),
            use_by: use_by.map(str::to_owned),
            reason: None,
            job: None,
            thinned: None,
        });
        let at = Stamp(9 * 60 * MINUTE);
        let id = Ids::counted(12).event(at);
        made.events.push(journal.record(&emptied, id, at, &by("Robin")).unwrap());
        let label = made.label(&demo);
        let text = flat(&label.text(&when).join("\n"));
        let drawn = words(&lay_out(&label, &when, Alphabet::Any).items);
        for said in [&text, &drawn] {
            assert_eq!(said.matches("USE BY").count() + said.matches("use until").count(), 1, "{said}");
            assert!(said.contains("leftover kept 2026-11-20 09:00"), "{said}");
        }
        let day = text.split("USE BY").nth(1).unwrap().trim_start_matches([':', ' ']);
        assert!(drawn.contains(&day.chars().take(16).collect::<String>()), "{day}: {drawn}");
        day.to_owned()
    };
    assert!(kept(false, Some("2026-12-31")).starts_with("2026-12-31 "));
    assert!(kept(false, None).starts_with("it was not said when the leftover was kept"));
    // With hardener in it, it is hard within two hours, whatever was said.
    assert!(kept(true, Some("2026-12-31")).starts_with("2026-11-20 10:"));
    assert!(kept(true, Some("2026-11-20")).starts_with("2026-11-20 10:"));
    assert!(kept(true, Some("2026-11-19")).starts_with("2026-11-19 "));
    assert!(kept(true, None).starts_with("2026-11-20 10:"));
}

/// What nobody entered is said to be unknown, in each rendering; nothing is left empty.
#[test]
fn what_is_not_on_file_is_said() {
    let mut demo = Catalogue::demo();
    demo.products.clear();
    demo.toners.iter_mut().for_each(|toner| (toner.flammable, toner.isocyanates) = (None, None));
    let label = made(recipe(&demo, Role::Ground, false), "", 99, true).label(&demo);
    assert_eq!(label.product, None);
    assert_eq!((label.isocyanates, label.flammable), (Entered::NotOnFile, Entered::NotOnFile));
    assert_eq!(label.use_by, UseBy::NotOnFile);
    let text = label.text(&when).join("\n");
    let drawn = words(&lay_out(&label, &when, Alphabet::Any).items);
    for said in [
        "product not on file",
        "USE BY: not on file: see the data sheet",
        "isocyanates: not on file: see the data sheet",
        "whether it is flammable: not on file",
        "hazard statements: not on file",
        "what to do and wear: not on file",
        "somebody who is not on file",
        "where it is kept is not on file",
    ] {
        let upper = said.to_uppercase();
        assert!(flat(&text).contains(said) || flat(&text).contains(&upper), "{said}: {text}");
        assert!(drawn.contains(said), "{said}: {drawn}");
    }
    assert!(!text.contains("no isocyanates") && !text.contains("not flammable"), "{text}");
}

/// A mix that was not made ready has its layer's hazards and no time: what else is in the cup nobody has weighed.
#[test]
fn colour_alone_has_hazards_and_no_time() {
    let demo = Catalogue::demo();
    let label = made(recipe(&demo, Role::Ground, false), "Robin", 99, true).label(&demo);
    assert_eq!(label.use_by, UseBy::NotOnFile);
    assert_eq!(label.isocyanates, Entered::Yes);
    assert_eq!(label.signal, Some(Signal::Danger));
    let text = flat(&label.text(&when).join(" "));
    assert!(
        text.contains("colour for GC-2") && text.contains("hardener and thinner were not weighed here"),
        "{text}"
    );
    // A colour whose file is gone: no other product's hazards are taken instead.
    let bare = Catalogue { colours: Vec::new(), ..demo.clone() };
    let label = made(recipe(&demo, Role::Ground, false), "Robin", 99, true).label(&bare);
    assert_eq!((label.product, label.signal), (None, None));
}

#[test]
fn a_toner_with_isocyanates_is_not_unsaid_by_its_product() {
    let mut demo = Catalogue::demo();
    for product in &mut demo.products {
        (product.isocyanates, product.flammable) = (Some(false), Some(false));
    }
    let ready = recipe(&demo, Role::Ground, true);
    let toners = ready.lines().len();
    let flammables = |demo: &mut Catalogue, is| {
        demo.toners.iter_mut().for_each(|toner| toner.flammable = is);
    };
    flammables(&mut demo, Some(false));
    let label = made(ready.clone(), "Robin", 99, true).label(&demo);
    assert_eq!((label.isocyanates, label.flammable), (Entered::Yes, Entered::No));
    flammables(&mut demo, Some(true));
    assert_eq!(made(ready.clone(), "Robin", 99, true).label(&demo).flammable, Entered::Yes);
    // Before the hardener is in, what the product says holds, and the time has not begun.
    let label = made(ready, "Robin", toners - 2, false).label(&demo);
    assert_eq!((label.isocyanates, label.state.clone()), (Entered::No, State::Unfinished));
    assert_eq!(label.use_by, UseBy::FromHardener(120));
    assert!(flat(&label.text(&when).join(" ")).contains("NOT FINISHED"));
}

/// A leftover was activated before: its time is not the mix's own.
#[test]
fn a_leftover_with_hardener_has_no_time_here() {
    let demo = Catalogue::demo();
    let ready = recipe(&demo, Role::Ground, true);
    let hardener = ready.lines().iter().find(|line| ready.is_hardener(&line.toner)).unwrap().toner.clone();
    let added = |parts: Vec<(TonerCode, Grams)>| {
        Event::LeftoverAdded(crate::mix::LeftoverAdded {
            from: "018c7e9a-3f10-7abc-8def-0123456789ab".to_owned(),
            before: Grams::ZERO,
            after: g("10"),
            parts,
            how: How::Scale,
        })
    };
    let poured = |toner: &TonerCode| {
        Event::Poured(crate::mix::Pour {
            toner: toner.clone(),
            tin: None,
            before: g("10"),
            after: g("20"),
            how: How::Scale,
        })
    };
    let with = added(vec![(hardener.clone(), g("1")), (TonerCode::new("W10"), g("9"))]);
    let without = added(vec![(TonerCode::new("W10"), g("10"))]);
    let events = |first: Event| [(Stamp(1), first), (Stamp(2), poured(&hardener))];
    assert_eq!(use_by(&demo, &ready, &events(with)), UseBy::Leftover);
    assert_eq!(use_by(&demo, &ready, &events(without)), UseBy::Until(Stamp(2 + 120 * MINUTE)));
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// All the words, in their order.
fn words(items: &[Item]) -> String {
    let words = items.iter().filter_map(|item| match item {
        Item::Words { text, .. } => Some(text.as_str()),
        Item::Bar { .. } => None,
    });
    words.collect::<Vec<_>>().join(" ")
}

/// A label with the nastiest that somebody could have typed.
fn nasty() -> Label {
    let mut demo = Catalogue::demo();
    let bad = "<script>alert('&\"')</script> ]]> (\\) \u{1b}[2J\u{202e}\u{0} Жаворонок 雪白 \u{fffe}é €";
    for product in &mut demo.products {
        product.name = bad.to_owned();
        product.sds = Some("sds ".repeat(80));
        product.hazards.statements = vec!["W".repeat(200), bad.to_owned(), "word ".repeat(300)];
        product.hazards.cautions = (0..40).map(|n| format!("caution {n} {bad}")).collect();
        product.hazards.pictograms = vec!["ghs02".to_owned(), "<b>".to_owned()];
    }
    let mut recipe = recipe(&demo, Role::Ground, true);
    recipe.name = "x".repeat(200);
    recipe.variant = bad.to_owned();
    made(recipe, bad, 99, true).label(&demo)
}

/// Everything stands on the label, nothing on something else, and nothing across the code.
#[test]
fn everything_is_in_its_place() {
    let demo = Catalogue::demo();
    let mut bare = demo.clone();
    bare.products.clear();
    let labels = [
        ground(),
        nasty(),
        made(recipe(&bare, Role::Pearl, false), "", 1, false).label(&bare),
        made(recipe(&demo, Role::Blender, true), "Robin", 99, true).label(&demo),
    ];
    for label in &labels {
        for alphabet in [Alphabet::Any, Alphabet::Latin] {
            let items = lay_out(label, &when, alphabet).items;
            let mut boxes = Vec::new();
            for item in &items {
                if let Item::Words { x, y, letters, text, .. } = item {
                    let right = x + letters.width(text);
                    assert!(*x >= 0.0 && right <= WIDTH, "{text}");
                    assert!(*y - letters.size >= 0.0 && *y <= HEIGHT - 3.0, "{text} at {y}");
                    boxes.push((*x, right, y - 0.72 * letters.size, *y, text));
                }
            }
            for (at, one) in boxes.iter().enumerate() {
                for other in boxes.iter().skip(at + 1) {
                    let apart = one.1 <= other.0 || other.1 <= one.0 || one.3 <= other.2 || other.3 <= one.2;
                    assert!(apart, "{one:?} over {other:?}");
                }
                let (left, below) = (WIDTH - 33.0 * 1.9, 33.0 * 1.9);
                assert!(one.1 <= left || one.2 >= below - 4.0 * 1.9, "{one:?} in the light around the code");
            }
        }
    }
    // What must always fit does, in full.
    let drawn = words(&lay_out(&labels[1], &when, Alphabet::Latin).items);
    for said in
        ["0412", "USE BY 2026-11-20", "CONTAINS ISOCYANATES", "DANGER", "FLAMMABLE", "MORE THAN FITS HERE"]
    {
        assert!(drawn.contains(said), "{said}: {drawn}");
    }
    assert!(drawn.contains("stands for a letter that this print cannot show"), "{drawn}");
    let drawn = words(&lay_out(&labels[0], &when, Alphabet::Latin).items);
    assert!(!drawn.contains("MORE THAN") && !drawn.contains("stands for a letter"), "{drawn}");
    assert!(drawn.contains("GHS02 flame") && drawn.contains("folder 1, sheet GC-2"), "{drawn}");
}

/// Read by a decoder that is not ours, from bars as they were drawn: x, y, width, height, y downwards, in points.
fn decoded(bars: &[(f32, f32, f32, f32)]) -> Vec<String> {
    // Eight dots a point, as a printer of 600 dots an inch has.
    let scale = 8.0_f32;
    let side = |length: f32| (length * scale) as usize;
    let inside = |at: f32, from: f32, long: f32| at >= from && at < from + long;
    let dark = |x: usize, y: usize| {
        let (x, y) = ((x as f32 + 0.5) / scale, (y as f32 + 0.5) / scale);
        bars.iter().any(|bar| inside(x, bar.0, bar.2) && inside(y, bar.1, bar.3))
    };
    // The upper third, in which the code is.
    let mut image = rqrr::PreparedImage::prepare_from_greyscale(side(WIDTH), side(80.0), |x, y| {
        if dark(x, y) { 0 } else { 255 }
    });
    image.detect_grids().iter().map(|grid| grid.decode().unwrap().1).collect()
}

#[test]
fn the_code_is_read_from_the_svg() {
    for label in [ground(), nasty()] {
        let svg = label.svg(&when);
        let page = roxmltree::Document::parse(&svg).unwrap();
        let number = |node: &roxmltree::Node<'_, '_>, name: &str| -> f32 {
            node.attribute(name).unwrap().parse().unwrap()
        };
        let bars: Vec<_> = page
            .descendants()
            .filter(|node| node.has_tag_name("rect") && node.has_attribute("x"))
            .map(|node| ["x", "y", "width", "height"].map(|name| number(&node, name)))
            .map(|[x, y, width, height]| (x, y, width, height))
            .collect();
        assert_eq!(decoded(&bars), [label.payload().to_string()]);
        // Whatever letters the one who shows it has, no line goes beyond the label.
        for text in page.descendants().filter(|node| node.has_tag_name("text")) {
            assert!(number(&text, "x") + number(&text, "textLength") <= WIDTH, "{:?}", text.text());
        }
        // Nothing is fetched, nothing runs: these elements alone.
        let names: std::collections::BTreeSet<_> = page
            .descendants()
            .filter(roxmltree::Node::is_element)
            .map(|node| node.tag_name().name())
            .collect();
        assert_eq!(names.into_iter().collect::<Vec<_>>(), ["rect", "svg", "text", "title"]);
        assert!(!svg.contains("href") && !svg.contains("url("), "{svg}");
    }
    let svg = nasty().svg(&when);
    let page = roxmltree::Document::parse(&svg).unwrap();
    let texts: Vec<_> = page.descendants().filter_map(|node| node.text()).collect();
    assert!(texts.iter().any(|text| text.contains("Жаворонок")), "{texts:?}");
    assert!(texts.concat().contains("<script>"), "{texts:?}");
}

/// A PDF read by its own table of places: object number to its bytes.
fn objects(pdf: &[u8]) -> BTreeMap<usize, Vec<u8>> {
    // One letter a byte, whatever it is, so that places in the one are places in the other.
    let text: String = pdf.iter().map(|byte| if byte.is_ascii() { char::from(*byte) } else { '.' }).collect();
    assert!(text.starts_with("%PDF-1."), "{}", text.get(..20).unwrap());
    assert!(text.trim_end().ends_with("%%EOF"), "{text}");
    let (_, tail) = text.rsplit_once("startxref\n").unwrap();
    let start: usize = tail.lines().next().unwrap().parse().unwrap();
    let mut table = text.get(start..).unwrap().split('\n');
    assert_eq!(table.next(), Some("xref"));
    let (from, count) = table.next().unwrap().split_once(' ').unwrap();
    let (from, count): (usize, usize) = (from.parse().unwrap(), count.trim_end().parse().unwrap());
    assert_eq!(from, 0);
    let mut objects = BTreeMap::new();
    for number in 0..count {
        // Each entry has twenty bytes (PDF 32000-1, 7.5.4).
        let entry = table.next().unwrap();
        assert!(entry.len() == 19 && entry.ends_with(['\r', ' ']), "{entry:?}");
        if entry.trim_end().ends_with('f') {
            continue;
        }
        let place: usize = entry.get(..10).unwrap().parse().unwrap();
        let head = format!("{number} 0 obj");
        assert!(text.get(place..).unwrap().starts_with(&head), "object {number} is not at {place}");
        let end = text.get(place..).unwrap().find("endobj").unwrap();
        objects.insert(number, pdf[place + head.len()..place + end].to_vec());
    }
    objects
}

/// What is between `stream` and `endstream`, of the length that is said.
fn stream(object: &[u8]) -> String {
    let text: String =
        object.iter().map(|byte| if byte.is_ascii() { char::from(*byte) } else { '.' }).collect();
    let (head, rest) = text.split_once("stream\n").unwrap();
    let long: usize =
        head.split("/Length ").nth(1).unwrap().split_whitespace().next().unwrap().parse().unwrap();
    assert!(rest.get(long..).unwrap().trim_start().starts_with("endstream"), "{head}");
    rest.get(..long).unwrap().to_owned()
}

#[test]
fn the_pdf_is_whole_and_its_code_is_read() {
    for label in [ground(), nasty()] {
        let pdf = label.pdf(&when);
        assert_eq!(label.pdf(&when).bytes, pdf.bytes);
        let objects = objects(&pdf.bytes);
        let text = |number: usize| String::from_utf8_lossy(&objects[&number]).into_owned();
        assert!(text(1).contains("/Catalog") && text(2).contains("/Count 1"), "{}", text(2));
        assert!(text(3).contains("[0 0 175.75 283.46]"), "{}", text(3));
        assert!(text(4).contains("/WinAnsiEncoding") && text(5).contains("Helvetica-Bold"), "{}", text(4));
        let drawn = stream(&objects[&6]);
        let mut bars = Vec::new();
        for line in drawn.lines() {
            if let Some(numbers) = line.strip_suffix(" re") {
                let [x, y, width, height]: [f32; 4] = numbers
                    .split(' ')
                    .map(|number| number.parse().unwrap())
                    .collect::<Vec<_>>()
                    .try_into()
                    .unwrap();
                bars.push((x, HEIGHT - y - height, width, height));
            }
        }
        assert_eq!(decoded(&bars), [label.payload().to_string()]);
        let begun = drawn.matches("BT").count();
        assert_eq!(begun, drawn.lines().filter(|line| *line == "ET").count(), "{drawn}");
    }
    assert_eq!(ground().pdf(&when).missing, 0);
    assert!(nasty().pdf(&when).missing > 0);
}
