//! What was said lately, what is booked already and what nothing brings back, for the pictures.

use super::states::Shop;
use super::*;
use crate::tui::keys::{Action, Context};
use crate::tui::messages::Messages;
use crate::tui::widgets::banner::{Banner, BannerKind};
use crate::tui::widgets::list::{ListCell, ListRow};
use crate::tui::widgets::prompt::{Input, Prompt};
use crate::units::Stamp;

/// What was said lately.
pub(super) fn message_views(shop: &Shop, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let mut messages = Messages::default();
    let at = |minutes: i64| Stamp(1_700_000_000_000_000 + minutes * 60_000_000);
    messages.keep("hands-free is off: take each pour with a key", false, at(0));
    let lost =
        "/dev/ttyUSB0 is gone: plug the scale in again; nothing is lost, and the mix goes on where it was";
    messages.keep(lost, true, at(3));
    messages.keep("the cup is back with the same weight: go on", false, at(4));
    messages.keep("there is no steady weight to take: wait for it to stand still", true, at(6));
    messages.keep("there is no steady weight to take: wait for it to stand still", true, at(6));
    let view = MessagesView {
        messages: &messages,
        scroll: 0,
        seconds_east: 3_600,
        link_words: "steady",
        chrome: shop.chrome(Context::Messages, &[Action::Back, Action::Up, Action::Down]),
    };
    see("messages", &View::Messages(view));
    see("messages-none", &View::Messages(MessagesView { messages: &Messages::default(), ..view }));
}

/// The questions about what is booked already, and about what nothing brings back.
pub(super) fn booked_views(shop: &Shop, half: &BenchView<'_>, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let row = |number: &'static str, toner: &'static str, grams: &'static str, tin: &'static str| ListRow {
        swatch: None,
        cells: vec![
            ListCell::number(number),
            ListCell::words(toner),
            ListCell::number(grams),
            ListCell::words(tin),
        ],
    };
    let rows = [
        row("2", "Y41 yellow oxide", "62.7 g", "tin 24-007"),
        row("1", "K05 carbon black", "3.4 g", "no tin said"),
    ];
    let typing = shop.chrome(Context::Prompt, &[Action::Accept, Action::Up, Action::Down, Action::Back]);
    let prompt = Prompt {
        label: "which pour was it?",
        input: Some(Input { text: "", cursor: 0 }),
        hint: "mark it, or type its number; the book says then what it was in truth",
        error: None,
        choices: &rows,
        selected: 0,
    };
    let chrome = Chrome { prompt: Some(prompt), ..typing };
    see("which-pour", &View::Bench(BenchView { chrome, ..half.clone() }));
    let prompt = Prompt {
        label: "Y41 62.7 g from tin 24-007: what was it?",
        input: Some(Input { text: "B15", cursor: 3 }),
        hint: "then B15 is 48.8 g over",
        choices: &[],
        ..prompt
    };
    let chrome = Chrome { prompt: Some(prompt), ..typing };
    see("what-it-was", &View::Bench(BenchView { chrome, ..half.clone() }));
    let prompt = Prompt {
        label: "throw 350.6 g away and start again?",
        input: None,
        hint: "that is 14.41 of paint; nothing brings it back",
        ..prompt
    };
    let sure = shop.chrome(Context::Confirm, &[Action::Accept, Action::Refuse]);
    let chrome = Chrome { prompt: Some(prompt), ..sure };
    see("start-again", &View::Bench(BenchView { chrome, ..half.clone() }));
}

/// A tin in the hand that is not to be poured as it is.
pub(super) fn tin_views(shop: &Shop, half: &BenchView<'_>, see: &mut impl FnMut(&'static str, &View<'_>)) {
    let wrong =
        Banner { kind: BannerKind::WrongTin, text: "that is B15 phthalo blue; W10 titanium white is due" };
    let actions = [Action::Accept, Action::JumpToToner, Action::Back];
    let chrome = Chrome {
        banners: &[wrong],
        hint: Some("scan the right tin, or j turns to this toner"),
        ..shop.chrome(Context::WrongTin, &actions)
    };
    see("wrong-tin", &View::Bench(BenchView { chrome, ..half.clone() }));
    let old = Banner {
        kind: BannerKind::WrongTin,
        text: "W10 titanium white, tin 24-031, lot A7 was to be used until 2026-06-30",
    };
    let chrome = Chrome {
        banners: &[old],
        hint: Some("take another tin, or Enter if it is to be poured all the same"),
        ..shop.chrome(Context::WrongTin, &[Action::Accept, Action::Back])
    };
    see("tin-too-old", &View::Bench(BenchView { chrome, ..half.clone() }));
}
