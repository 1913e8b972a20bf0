//! The mouse: what is clicked is what is seen there.

use super::rig::{DWELL, Rig, g};
use crate::tui::message::Message;
use crate::tui::mouse::meaning;
use crate::tui::theme::Theme;
use ratatui::crossterm::event::{KeyModifiers, MouseButton, MouseEvent, MouseEventKind};
use ratatui::layout::Rect;

/// Clicks, or turns the wheel, where that is on the screen for the first time.
pub(super) fn at(rig: &mut Rig, what: &str, kind: MouseEventKind) {
    let screen = rig.screen();
    let (row, line) = screen.lines().enumerate().find(|(_, line)| line.contains(what)).expect(what);
    let column = line.split(what).next().unwrap().chars().count();
    let event = MouseEvent {
        kind,
        column: u16::try_from(column).unwrap(),
        row: u16::try_from(row).unwrap(),
        modifiers: KeyModifiers::NONE,
    };
    let actions = meaning(&rig.app, rig.now(), Rect::new(0, 0, 80, 24), &Theme::default(), event);
    rig.send(Message::Clicked(actions));
}

pub(super) fn click(rig: &mut Rig, what: &str) {
    at(rig, what, MouseEventKind::Down(MouseButton::Left));
}

#[test]
fn a_row_is_marked_and_taken_with_a_second_click() {
    let mut rig = Rig::new();
    click(&mut rig, "PB-3140");
    rig.says("▸ ███ PB-3140");
    click(&mut rig, "PB-1121");
    rig.says("▸ ███ PB-1121");
    at(&mut rig, "PB-1121", MouseEventKind::ScrollDown);
    rig.says_not("▸ ███ PB-1121");
    click(&mut rig, "PB-3140");
    click(&mut rig, "PB-3140");
    rig.says("how much");
    // A cup, and then the key on the bottom line.
    click(&mut rig, "1400      1400 mL");
    rig.says("▸ 1400");
    click(&mut rig, "Enter begin");
    rig.says("put the empty cup on the scale");
}

#[test]
fn a_way_out_and_a_key_of_the_bottom_line() {
    let mut rig = Rig::begun();
    click(&mut rig, "n next tin");
    rig.says("which tin now?");
    click(&mut rig, "Esc back");
    rig.stand_net(rig.stop() + g("9"), DWELL);
    rig.says("over (right is within");
    click(&mut rig, "leave it");
    rig.says("leave it");
    let written = rig.sent.len();
    click(&mut rig, "leave it");
    assert_eq!(rig.sent.len(), written + 1, "{}", rig.screen());
    // Where nothing is, nothing happens.
    let before = rig.screen();
    click(&mut rig, "brim");
    assert_eq!(rig.screen(), before);
}
