//! The states of the scale's own screen for the pictures.

use super::fixture::g;
use super::*;
use crate::scale::shape::{Shape, Sma};
use crate::scale::{Condition, Evidence, Frame, LinkEvent, LinkState, Mode, Reading, Stability, UnitText};
use crate::tui::scale_log::ScaleLog;
use crate::tui::theme::Meaning;
use crate::units::{Division, MassUnit, Moment, parse_decimal};

/// A minute of readings: calm, somebody leans on the bench, a gap, calm again.
fn a_minute() -> ScaleLog {
    let mut log = ScaleLog::default();
    let state = |state, why: &str| LinkEvent::State { state, why: why.to_owned() };
    log.take_in(
        &state(LinkState::Listening, "the line is open; nothing has been understood yet"),
        None,
        Moment(0),
    );
    log.take_in(&state(LinkState::Live, ""), None, Moment(400));
    for number in 1..600_u64 {
        let at = Moment(number * 100);
        if (200..240).contains(&number) {
            continue;
        }
        if number == 240 {
            log.take_in(&state(LinkState::Lost, "the cable is out"), None, at);
            log.take_in(&state(LinkState::Live, ""), None, at);
        }
        let leaning = (300..345).contains(&number);
        let value = match number % 10 {
            0 if leaning => "202.9",
            1 if leaning => "200.1",
            2 if number % 50 == 2 => "201.4",
            _ => "201.3",
        };
        let frame = Frame {
            value: parse_decimal(value).ok(),
            unit: Some(MassUnit::Gram),
            unit_text: UnitText::from("g"),
            stability: if leaning { Stability::Moving } else { Stability::Stable },
            mode: Mode::Gross,
            centre_of_zero: Some(false),
            condition: Condition::Ok,
            high_resolution: false,
        };
        log.take_in(&LinkEvent::Bytes(Sma.encode(&frame)), None, at);
        log.take_in(&LinkEvent::Reading(Reading::new(frame, at)), Some(g(value)), at);
    }
    let evidence = Evidence { frames: 559, noise: 12, openings: 2, answers: 0, line_errors: 1 };
    log.take_in(&LinkEvent::Evidence(evidence), None, Moment(60_000));
    log
}

pub(super) fn scale_views(shop: &super::states::Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let log = a_minute();
    let actions = crate::tui::keys::Bindings::default().actions(crate::tui::keys::Context::Scale);
    let notes = [
        Note {
            text: "checked today with W-500 (500 g, M1): 500.0 g, right within 0.1 g".to_owned(),
            meaning: Meaning::Right,
        },
        Note {
            text: "ten weighings 3 days ago: spread s 0.048 g, weighs from 9.7 g up".to_owned(),
            meaning: Meaning::Plain,
        },
    ];
    let view = ScaleView {
        place: "serial:/dev/ttyUSB0?baud=9600&line=8N1&shape=sma",
        live: Some(g("201.3")),
        net: false,
        steady: true,
        doubt: None,
        division: Division::TENTH,
        capacity: Some(g("7500")),
        link_words: "steady",
        readings_per_second: Some(10),
        log: &log,
        now: Moment(59_950),
        notes: &notes,
        chrome: shop.chrome(crate::tui::keys::Context::Scale, &actions),
    };
    see("scale", &View::Scale(view));
    let doubt = "The scale is moving: wait until it stands still.";
    see(
        "scale-moving",
        &View::Scale(ScaleView { steady: false, doubt: Some(doubt), link_words: "moving", ..view }),
    );
    let empty = ScaleLog::default();
    let silent = ScaleView {
        live: None,
        steady: false,
        link_words: "listening",
        readings_per_second: None,
        log: &empty,
        notes: &[],
        capacity: None,
        ..view
    };
    see("scale-silent", &View::Scale(silent));
}
