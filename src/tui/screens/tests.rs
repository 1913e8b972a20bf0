//! Whole screens: each state at two sizes as a picture that was looked at, and every screen at every size.

use super::fixture::{self, g};
use super::states::{BENCH, Shop, bench, drawn, each_view};
use super::*;
use crate::tui::keys::Context;
use crate::tui::theme::{Depth, Palette, Symbols, Theme};
use crate::units::{Grams, Notation};
use proptest::prelude::*;
use ratatui::style::Color;

const UNICODE: Theme = Theme {
    palette: Palette::Dark,
    depth: Depth::Sixteen,
    symbols: Symbols::UNICODE,
    notation: Notation::METRIC,
};
const PLAIN: Theme = Theme {
    palette: Palette::Mono,
    depth: Depth::Sixteen,
    symbols: Symbols::ASCII,
    notation: Notation::METRIC,
};

#[test]
fn pictures() {
    for (size, (width, height)) in [("80x24", (80, 24)), ("120x36", (120, 36))] {
        each_view(|name, view| {
            let lines = picture(&drawn(view, width, height, &UNICODE)).join("\n");
            insta::assert_snapshot!(format!("{name}-{size}"), lines);
        });
    }
}

#[test]
fn pictures_in_one_colour_and_plain_signs() {
    each_view(|name, view| {
        let lines = picture(&drawn(view, 80, 24, &PLAIN)).join("\n");
        assert!(lines.is_ascii(), "{name}: {lines}");
        if ["pouring", "over", "right", "cup-back-with-less", "amount-too-little"].contains(&name)
            || ["pour-on", "ease-off", "set-it-upright"].contains(&name)
        {
            insta::assert_snapshot!(format!("{name}-plain"), lines);
        }
    });
}

#[test]
fn pictures_too_small() {
    each_view(|name, view| {
        if ["pouring", "scale-lost", "over", "cup-back-with-more", "typing-a-weight", "colours"]
            .contains(&name)
        {
            let lines = picture(&drawn(view, 40, 8, &UNICODE)).join("\n");
            insta::assert_snapshot!(format!("{name}-small"), lines);
        }
    });
}

/// One colour is no colour, on every screen.
#[test]
fn mono_never_sets_a_colour() {
    for depth in [Depth::Sixteen, Depth::True] {
        let theme = Theme { depth, ..PLAIN };
        each_view(|name, view| {
            for (width, height) in [(80, 24), (120, 36), (30, 9)] {
                let buf = drawn(view, width, height, &theme);
                let plain = |colour: Color| colour == Color::Reset;
                assert!(buf.content().iter().all(|cell| plain(cell.fg) && plain(cell.bg)), "{name}");
            }
        });
    }
}

/// A weight that cannot be trusted is nowhere shown: neither the big number, nor a mark on the bar, nor words.
#[test]
fn without_a_weight_there_is_no_number_to_go() {
    let session = fixture::half_poured();
    let drawing = fixture::drawing();
    let shop = Shop::new();
    for (session, net) in [(&session, "319.2"), (&drawing, "349.0")] {
        let seen = bench(session, &[], shop.chrome(Context::Bench, BENCH));
        let blind = BenchView {
            net: None,
            steady: false,
            link_words: "lost",
            landing: Some(g("346.2")),
            ..seen.clone()
        };
        let seen = BenchView { net: Some(g(net)), ..seen };
        for (width, height) in [(80, 24), (40, 10)] {
            let shown = |view: &BenchView<'_>| {
                let lines = picture(&drawn(&View::Bench(view.clone()), width, height, &UNICODE));
                // Beside the cup, above the record.
                let side =
                    |line: &String| line.chars().skip(if width < 80 { 0 } else { 33 }).collect::<String>();
                lines.iter().take(14).map(side).collect::<Vec<_>>().join("\n")
            };
            let (with, without) = (shown(&seen), shown(&blind));
            assert!(with.contains("g to "), "{with}");
            assert!(width < 80 || with.contains('█') && with.contains(net), "{with}");
            for wrong in ["g to ", "█", "▲", net, "346.2"] {
                assert!(!without.contains(wrong), "{wrong} in\n{without}");
            }
            assert!(without.contains("scale lost"), "{without}");
        }
    }
}

/// Every screen at every small size and at a huge one.
#[test]
fn no_size_is_too_small_or_too_large() {
    each_view(|_, view| {
        for height in 0..=20 {
            for width in 0..=40 {
                drawn(view, width, height, &UNICODE);
            }
        }
        for (width, height) in
            [(500, 200), (80, 1), (1, 200), (300, 24), (80, 24), (81, 25), (111, 24), (112, 24)]
        {
            drawn(view, width, height, &UNICODE);
            drawn(view, width, height, &PLAIN);
        }
    });
}

/// The layout of the full screens too, squeezed below the size at which the small one takes over, and drawn
/// into an area that is not at the origin.
#[test]
fn the_layouts_hold_at_any_size() {
    each_view(|_, view| {
        for (width, height) in
            [(0, 0), (1, 1), (3, 40), (7, 7), (20, 3), (40, 12), (79, 23), (200, 5), (130, 13)]
        {
            let mut buf = Buffer::empty(Rect::new(0, 0, 210, 50));
            let area = Rect::new(5, 4, width, height);
            match view {
                View::Bench(bench) => bench::draw(bench, area, &mut buf, &UNICODE),
                View::Colours(colours) => colours::draw(colours, area, &mut buf, &UNICODE),
                View::Amount(amount) => amount::draw(amount, area, &mut buf, &UNICODE),
                View::Unfinished(unfinished) => unfinished::draw(unfinished, area, &mut buf, &UNICODE),
                View::Emptying(view) => emptying::draw(view, area, &mut buf, &UNICODE),
                View::Shelf(view) => shelf::draw(view, area, &mut buf, &UNICODE),
                View::Waste(view) => waste::draw(view, area, &mut buf, &UNICODE),
                View::Stocktake(view) => stocktake::draw(view, area, &mut buf, &UNICODE),
                View::Delivery(view) => delivery::draw(view, area, &mut buf, &UNICODE),
                View::Leftovers(view) => leftovers::draw(view, area, &mut buf, &UNICODE),
                View::Jobs(view) => jobs::draw(view, area, &mut buf, &UNICODE),
                View::Job(view) => job::draw(view, area, &mut buf, &UNICODE),
                View::Scale(view) => scale::draw(view, area, &mut buf, &UNICODE),
                View::Messages(view) => messages::draw(view, area, &mut buf, &UNICODE),
                View::Formula(view) => formula::draw(view, area, &mut buf, &UNICODE),
                View::Import(view) => import::draw(view, area, &mut buf, &UNICODE),
                View::FirstRun(view) => first_run::draw(view, area, &mut buf, &UNICODE),
            }
            let outside = |x: u16, y: u16| !area.contains(ratatui::layout::Position { x, y });
            for y in 0..50 {
                for x in 0..210 {
                    assert!(!outside(x, y) || buf.cell((x, y)).unwrap().symbol() == " ", "{x} {y} of {area}");
                }
            }
        }
    });
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn any_size_any_weight(
        width in 0_u16..260,
        height in 0_u16..90,
        net in prop::option::of(-1_000_000_i64..10_000_000),
        landing in prop::option::of(-1_000_000_i64..10_000_000),
        scroll in 0_usize..90,
        percent in 0_u8..=255,
    ) {
        let grams = |n: i64| Grams::new(crate::units::Decimal::new(n, 2));
        each_view(|_, view| {
            drawn(view, width, height, &UNICODE);
            if let View::Bench(bench) = view {
                let other = BenchView {
                    net: net.map(grams),
                    landing: landing.map(grams),
                    dwell: Some(percent),
                    tip: Some(percent),
                    selected: scroll,
                    chrome: Chrome { help: (scroll > 60).then_some(scroll), ..bench.chrome },
                    ..bench.clone()
                };
                drawn(&View::Bench(other), width, height, &PLAIN);
            }
        });
    }
}
