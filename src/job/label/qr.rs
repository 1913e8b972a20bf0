//! The code itself: dark and light squares (ISO/IEC 18004, by the crate `qrcodegen`).

use super::Payload;
use qrcodegen::{QrCode, QrCodeEcc};

/// Light squares that belong around a code on each side (ISO/IEC 18004, from memory).
pub(super) const QUIET: u16 = 4;

/// The squares of a code, without the light ones around it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Modules {
    rows: Vec<Vec<bool>>,
}

impl Modules {
    /// The code of a payload, with the second of the four levels of correction. What stands on a label always fits.
    pub fn of(payload: Payload) -> Self {
        let code = QrCode::encode_text(&payload.to_string(), QrCodeEcc::Medium).ok();
        let rows = code.map(|code| {
            let row = |y| (0..code.size()).map(|x| code.get_module(x, y)).collect();
            (0..code.size()).map(row).collect()
        });
        Self { rows: rows.unwrap_or_default() }
    }

    /// The rows from above, in each true for a dark square.
    pub fn rows(&self) -> &[Vec<bool>] {
        &self.rows
    }

    /// How many squares a side has.
    pub fn size(&self) -> u16 {
        u16::try_from(self.rows.len()).unwrap_or(u16::MAX)
    }

    /// The dark squares as strips: row, first square, how many. Fewer things to draw, and no hairlines within a strip.
    pub(super) fn strips(&self) -> Vec<(u16, u16, u16)> {
        let mut strips: Vec<(u16, u16, u16)> = Vec::new();
        for (y, row) in (0_u16..).zip(&self.rows) {
            for (x, _) in (0_u16..).zip(row).filter(|(_, dark)| **dark) {
                match strips.last_mut() {
                    Some((of, from, long)) if *of == y && from.saturating_add(*long) == x => {
                        *long = long.saturating_add(1);
                    }
                    _ => strips.push((y, x, 1)),
                }
            }
        }
        strips
    }
}
