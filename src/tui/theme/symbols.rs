//! The signs the screen is drawn with: one cell each, and a plain ASCII set for terminals without others.

/// A set of signs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Symbols {
    /// Within its tolerance.
    pub right: &'static str,
    /// Where one is, or what a mark points at.
    pub pointer: &'static str,
    /// Not yet begun.
    pub waiting: &'static str,
    /// Some of it is in.
    pub part: &'static str,
    /// Above its tolerance; something to look at.
    pub alert: &'static str,
    /// Knowingly left off.
    pub left_off: &'static str,
    /// It does not belong.
    pub foreign: &'static str,
    /// Between two pieces of a line.
    pub dot: &'static str,
    /// Text was cut off here.
    pub ellipsis: &'static str,
    /// A line across.
    pub rule: &'static str,
    /// A dotted line across.
    pub dotted: &'static str,
    /// A solid cell.
    pub solid: &'static str,
    /// The cup's rim.
    pub rim: &'static str,
    /// The cup's wall.
    pub wall: &'static str,
    /// A card's upper corners, left and right.
    pub card_top: [&'static str; 2],
    /// The cup's lower left corner.
    pub corner_left: &'static str,
    /// The cup's lower right corner.
    pub corner_right: &'static str,
    /// The bar's left end.
    pub bar_start: &'static str,
    /// The bar's right end.
    pub bar_end: &'static str,
    /// The bar where nothing is yet.
    pub bar_empty: &'static str,
    /// Where right begins.
    pub zone_start: &'static str,
    /// Right.
    pub zone: &'static str,
    /// Where right ends.
    pub zone_end: &'static str,
    /// Where to stop.
    pub stop: &'static str,
    /// Points up at the bar from below.
    pub up_mark: &'static str,
    /// Points down into the bar: from here on slower.
    pub ease: &'static str,
    /// A step that is taken.
    pub step_full: &'static str,
    /// A step that is not.
    pub step_empty: &'static str,
    /// The keys with arrows on them: up, down, left, right.
    pub arrows: [&'static str; 4],
    /// Fillings that differ from one another.
    pub textures: &'static [&'static str],
    /// Paint that was lost.
    pub wasted: &'static str,
    /// Whether signs of half a cell's height can be used.
    pub halves: bool,
}

impl Symbols {
    /// Box-drawing and block signs, all in the Unicode blocks that terminals' fonts have had for decades.
    pub const UNICODE: &'static Self = &Self {
        right: "✓",
        pointer: "▸",
        waiting: "·",
        part: "◦",
        alert: "!",
        left_off: "≈",
        foreign: "×",
        dot: "·",
        ellipsis: "…",
        rule: "─",
        dotted: "┄",
        solid: "█",
        rim: "╷",
        wall: "│",
        card_top: ["╭", "╮"],
        corner_left: "╰",
        corner_right: "╯",
        bar_start: "┠",
        bar_end: "┨",
        bar_empty: "─",
        zone_start: "╟",
        zone: "▒",
        zone_end: "╢",
        stop: "┃",
        up_mark: "▲",
        ease: "▽",
        step_full: "▮",
        step_empty: "▯",
        arrows: ["↑", "↓", "←", "→"],
        textures: &["█", "▓", "▒", "░"],
        wasted: "▚",
        halves: true,
    };

    /// Nothing beyond ASCII.
    pub const ASCII: &'static Self = &Self {
        right: "v",
        pointer: ">",
        waiting: ".",
        part: "-",
        alert: "!",
        left_off: "~",
        foreign: "x",
        dot: "-",
        ellipsis: "~",
        rule: "-",
        dotted: ".",
        solid: "#",
        rim: "|",
        wall: "|",
        card_top: ["+", "+"],
        corner_left: "+",
        corner_right: "+",
        bar_start: "|",
        bar_end: "|",
        bar_empty: "-",
        zone_start: "[",
        zone: ":",
        zone_end: "]",
        stop: "|",
        up_mark: "^",
        ease: "v",
        step_full: "#",
        step_empty: ".",
        arrows: ["Up", "Down", "Left", "Right"],
        textures: &["#", "%", "+", "."],
        wasted: "x",
        halves: false,
    };
}

#[cfg(test)]
mod tests {
    use super::*;

    fn signs(set: &Symbols) -> Vec<&'static str> {
        let mut all = vec![
            set.right,
            set.pointer,
            set.waiting,
            set.part,
            set.alert,
            set.left_off,
            set.foreign,
            set.dot,
            set.ellipsis,
            set.rule,
            set.dotted,
            set.solid,
            set.rim,
            set.wall,
            set.corner_left,
            set.corner_right,
            set.bar_start,
            set.bar_end,
            set.bar_empty,
            set.zone_start,
            set.zone,
            set.zone_end,
            set.stop,
            set.up_mark,
            set.ease,
            set.step_full,
            set.step_empty,
            set.wasted,
        ];
        all.extend(set.textures);
        all
    }

    #[test]
    fn every_sign_is_one_cell() {
        for set in [Symbols::UNICODE, Symbols::ASCII] {
            assert!(signs(set).iter().all(|sign| crate::tui::text::width(sign) == 1));
        }
        assert!(signs(Symbols::ASCII).iter().chain(&Symbols::ASCII.arrows).all(|sign| sign.is_ascii()));
    }

    /// What stands in the same column must differ by its sign alone.
    #[test]
    fn the_states_of_a_row_differ() {
        for set in [Symbols::UNICODE, Symbols::ASCII] {
            let states =
                [set.right, set.pointer, set.waiting, set.part, set.alert, set.left_off, set.foreign];
            for (at, state) in states.iter().enumerate() {
                assert!(!states.get(at + 1..).unwrap().contains(state), "{state}");
            }
        }
    }
}
