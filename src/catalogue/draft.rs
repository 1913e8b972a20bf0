//! A formula as somebody types it: text in every field, checked as a whole, every mistake named at its field.

mod check;

use super::{Colour, ProductCode, STANDARD, Word};

/// A formula being written. Every field is text as typed; nothing is lost by being wrong.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Draft {
    /// The colour's code.
    pub code: String,
    /// What people call it.
    pub name: String,
    /// Which variant; nothing stands for the standard one.
    pub variant: String,
    /// The word of its finish.
    pub finish: String,
    /// `#f2f1ec`, or nothing.
    pub swatch: String,
    /// The day since when it is no longer mixed, `2026-11-25`, or nothing.
    pub retired: String,
    /// Why not, or nothing.
    pub retired_because: String,
    /// Its layers, from the panel outwards as the file has them.
    pub layers: Vec<DraftLayer>,
}

/// One layer of a draft.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DraftLayer {
    /// The word of what it is for.
    pub role: String,
    /// Its toners in pour order.
    pub rows: Vec<DraftRow>,
    /// The product it is mixed with, as the colour's file names it; kept as it is.
    pub product: Option<ProductCode>,
    /// The shade of undercoat, as the colour's file names it; kept as it is.
    pub shade: Option<String>,
}

/// One toner of a draft's layer.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct DraftRow {
    /// The toner's code.
    pub toner: String,
    /// Parts by mass, with a decimal point or comma.
    pub parts: String,
}

/// A field of a draft. Layers and rows count from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Field {
    /// [`Draft::code`].
    Code,
    /// [`Draft::name`].
    Name,
    /// [`Draft::variant`].
    Variant,
    /// [`Draft::finish`].
    Finish,
    /// [`Draft::swatch`].
    Swatch,
    /// [`Draft::retired`].
    Retired,
    /// [`Draft::retired_because`].
    RetiredBecause,
    /// The list of layers as a whole.
    Layers,
    /// A layer's role.
    Role {
        /// Which layer.
        layer: usize,
    },
    /// A layer's rows as a whole.
    Rows {
        /// Which layer.
        layer: usize,
    },
    /// A row's toner.
    Toner {
        /// Which layer.
        layer: usize,
        /// Which of its rows.
        row: usize,
    },
    /// A row's parts.
    Parts {
        /// Which layer.
        layer: usize,
        /// Which of its rows.
        row: usize,
    },
}

/// What is wrong with one field.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// Which.
    pub field: Field,
    /// What is wrong: a sentence without its full stop.
    pub what: String,
    /// What to do now: a sentence.
    pub hint: Option<String>,
    /// What could stand there instead: the nearest right one.
    pub instead: Option<String>,
}

impl Fault {
    /// What is wrong and what to do, in one line.
    pub fn sentence(&self) -> String {
        match &self.hint {
            Some(hint) => format!("{}. {hint}", self.what),
            None => format!("{}.", self.what),
        }
    }
}

impl Draft {
    /// The colour as a draft: what a check of it gives is the same colour.
    pub fn of(colour: &Colour) -> Self {
        let layer = |layer: &super::Layer| DraftLayer {
            role: layer.role.word().to_owned(),
            rows: layer
                .pours
                .iter()
                .map(|part| DraftRow { toner: part.toner.as_str().to_owned(), parts: part.parts.to_string() })
                .collect(),
            product: layer.product.clone(),
            shade: layer.shade.clone(),
        };
        let retired = colour.retired.as_ref();
        Self {
            code: colour.code.as_str().to_owned(),
            name: colour.name.clone(),
            variant: colour.variant.clone(),
            finish: colour.finish.word().to_owned(),
            swatch: colour.swatch.map(|swatch| swatch.to_string()).unwrap_or_default(),
            retired: retired.map(|retired| retired.on.clone()).unwrap_or_default(),
            retired_because: retired.and_then(|retired| retired.because.clone()).unwrap_or_default(),
            layers: colour.layers.iter().map(layer).collect(),
        }
    }

    /// A draft that begins with another colour's formula. It is not retired, whatever the other is, and its variant
    /// is for its writer to fill in: with the same code it must be another one.
    pub fn copy(colour: &Colour) -> Self {
        Self {
            variant: String::new(),
            retired: String::new(),
            retired_because: String::new(),
            ..Self::of(colour)
        }
    }

    /// The variant, filled in.
    fn variant(&self) -> &str {
        let variant = self.variant.trim();
        if variant.is_empty() { STANDARD } else { variant }
    }
}
