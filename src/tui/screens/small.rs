//! Too small a screen: says so, and still shows what it would be dangerous not to know.

use super::View;
use super::bench::small_lines;
use crate::tui::text;
use crate::tui::theme::{Meaning, Theme};
use crate::tui::widgets::pen;
use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

/// Draws what fits: the number to go, the toner and the stop, what is wrong, and how large the screen must be.
pub fn draw(view: &View<'_>, area: Rect, buf: &mut Buffer, theme: &Theme) {
    let mut lines: Vec<(String, Meaning)> = Vec::new();
    if let View::Bench(bench) = view {
        lines.extend(small_lines(bench, theme));
    }
    // The doubt may have been said already.
    let said = |text: &str| lines.iter().any(|(line, _)| line == text);
    let mut banners: Vec<_> = view.chrome().banners.iter().filter(|banner| !said(banner.text)).collect();
    banners.sort_by_key(|banner| banner.kind);
    let important =
        banners.iter().map(|banner| (format!("{} {}", theme.symbols.alert, banner.text), Meaning::Error));
    lines.extend(important);
    lines.push((
        format!(
            "too small: {}x{}, make it {}x{}",
            area.width,
            area.height,
            super::LEAST_WIDTH,
            super::LEAST_HEIGHT
        ),
        Meaning::Muted,
    ));
    // A question may be open: its text must not seem to be lost.
    if let Some(prompt) = &view.chrome().prompt {
        let typed = prompt.input.map(|input| input.text).unwrap_or_default();
        lines.push((format!("{}: {typed}", prompt.label), Meaning::Plain));
    }
    for ((line, meaning), y) in lines.iter().zip(area.top()..area.bottom()) {
        let line = text::fit(line, area.width, theme.symbols.ellipsis);
        pen::put(buf, area, area.x, y, &line, theme.style(*meaning));
    }
}
