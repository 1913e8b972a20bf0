//! A formula being written: the draft, the cell that has the cursor, and what is wrong so far.

use super::known::Known;
use crate::catalogue::{
    Colour, Draft, DraftLayer, DraftRow, Fault, Field, Finish, Role, STANDARD, Toner, Word as _,
};
use tui_input::{Input, InputRequest};

/// What a formula is held against while it is written.
#[derive(Clone, Copy, Debug)]
pub(super) struct Shop<'a> {
    /// The toners there are.
    pub(super) toners: &'a [Toner],
    /// The other colours.
    pub(super) known: &'a Known,
}

/// What is being done.
#[derive(Clone, Debug)]
pub(super) enum Doing {
    /// A colour that is not there yet.
    New,
    /// One that begins as another.
    Copy(String),
    /// One that is there, as it was read.
    Change(Box<Colour>),
}

/// Which cell has the cursor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Cell {
    /// One of those on top: code, name, variant, finish, swatch, the open layer's role.
    Head(usize),
    /// A row's toner.
    Toner(usize),
    /// A row's parts.
    Parts(usize),
}

/// The cells on top, by what they are called.
pub(super) const HEAD: [&str; 6] = ["code", "name", "variant", "finish", "swatch", "layer"];

/// A formula being written.
#[derive(Clone, Debug)]
pub(super) struct Formula {
    pub(super) doing: Doing,
    pub(super) draft: Draft,
    /// As it was when it was opened.
    pub(super) was: Draft,
    /// Which layer is open.
    pub(super) layer: usize,
    pub(super) at: Cell,
    pub(super) input: Input,
    pub(super) faults: Vec<Fault>,
    /// Whether it is being written just now.
    pub(super) is_writing: bool,
}

impl Formula {
    pub(super) fn new(doing: Doing, mut draft: Draft, layer: usize, shop: Shop<'_>) -> Self {
        if draft.layers.is_empty() {
            draft.layers.push(DraftLayer {
                role: Role::Base.word().to_owned(),
                rows: vec![DraftRow::default()],
                ..DraftLayer::default()
            });
        }
        if draft.variant.is_empty() && matches!(doing, Doing::New) {
            STANDARD.clone_into(&mut draft.variant);
        }
        let at = match &doing {
            Doing::New => Cell::Head(0),
            // With the same code it needs another variant, so that is asked for first.
            Doing::Copy(_) => Cell::Head(2),
            Doing::Change(_) => Cell::Parts(0),
        };
        let layer = layer.min(draft.layers.len().saturating_sub(1));
        let was = draft.clone();
        let mut formula = Self {
            doing,
            draft,
            was,
            layer,
            at,
            input: Input::default(),
            faults: Vec::new(),
            is_writing: false,
        };
        formula.go(at);
        formula.check(shop);
        formula
    }

    /// The colour as it would be, or nothing as long as something is wrong.
    pub(super) fn check(&mut self, shop: Shop<'_>) -> Option<Colour> {
        let own = match &self.doing {
            Doing::Change(colour) => Some((colour.code.as_str(), colour.variant.as_str())),
            Doing::New | Doing::Copy(_) => None,
        };
        let others = shop.known.names().filter(|name| Some(*name) != own);
        match self.draft.check(shop.toners, others) {
            Ok(colour) => {
                self.faults.clear();
                Some(colour)
            }
            Err(faults) => {
                self.faults = faults;
                None
            }
        }
    }

    /// Whether anything is other than it was.
    pub(super) fn is_changed(&self) -> bool {
        self.draft != self.was
    }

    /// The rows of the open layer.
    pub(super) fn rows(&self) -> &[DraftRow] {
        self.draft.layers.get(self.layer).map_or(&[], |layer| &layer.rows)
    }

    /// The text of a cell.
    pub(super) fn text(&self, cell: Cell) -> &str {
        let row = |row: usize| self.rows().get(row);
        match cell {
            Cell::Head(0) => &self.draft.code,
            Cell::Head(1) => &self.draft.name,
            Cell::Head(2) => &self.draft.variant,
            Cell::Head(3) => &self.draft.finish,
            Cell::Head(4) => &self.draft.swatch,
            Cell::Head(_) => self.draft.layers.get(self.layer).map_or("", |layer| &layer.role),
            Cell::Toner(at) => row(at).map_or("", |row| &row.toner),
            Cell::Parts(at) => row(at).map_or("", |row| &row.parts),
        }
    }

    fn slot(&mut self, cell: Cell) -> Option<&mut String> {
        let layer = self.layer;
        let draft = &mut self.draft;
        match cell {
            Cell::Head(0) => Some(&mut draft.code),
            Cell::Head(1) => Some(&mut draft.name),
            Cell::Head(2) => Some(&mut draft.variant),
            Cell::Head(3) => Some(&mut draft.finish),
            Cell::Head(4) => Some(&mut draft.swatch),
            Cell::Head(_) => draft.layers.get_mut(layer).map(|layer| &mut layer.role),
            Cell::Toner(row) => draft.layers.get_mut(layer)?.rows.get_mut(row).map(|row| &mut row.toner),
            Cell::Parts(row) => draft.layers.get_mut(layer)?.rows.get_mut(row).map(|row| &mut row.parts),
        }
    }

    /// The field of the draft that a cell is.
    pub(super) const fn field(&self, cell: Cell) -> Field {
        let layer = self.layer;
        match cell {
            Cell::Head(0) => Field::Code,
            Cell::Head(1) => Field::Name,
            Cell::Head(2) => Field::Variant,
            Cell::Head(3) => Field::Finish,
            Cell::Head(4) => Field::Swatch,
            Cell::Head(_) => Field::Role { layer },
            Cell::Toner(row) => Field::Toner { layer, row },
            Cell::Parts(row) => Field::Parts { layer, row },
        }
    }

    /// What is wrong with a cell.
    pub(super) fn fault(&self, cell: Cell) -> Option<&Fault> {
        let field = self.field(cell);
        self.faults.iter().find(|fault| fault.field == field)
    }

    /// Whether something in that layer is wrong.
    pub(super) fn is_layer_wrong(&self, layer: usize) -> bool {
        self.faults.iter().any(|fault| layer_of(fault.field) == Some(layer))
    }

    /// Goes to a cell.
    pub(super) fn go(&mut self, cell: Cell) {
        self.at = cell;
        self.input = Input::new(self.text(cell).to_owned());
    }

    /// Changes what is typed.
    pub(super) fn edit(&mut self, request: InputRequest, shop: Shop<'_>) {
        if self.input.handle(request).is_some_and(|change| change.value) {
            self.put(self.input.value().to_owned(), shop);
        }
    }

    fn put(&mut self, text: String, shop: Shop<'_>) {
        if let Some(slot) = self.slot(self.at) {
            *slot = text;
        }
        self.check(shop);
    }

    /// The words that can stand in the cell, where there are only a few.
    pub(super) fn words(&self) -> Vec<&'static str> {
        match self.at {
            Cell::Head(3) => Finish::ALL.iter().map(|finish| finish.word()).collect(),
            Cell::Head(5) => Role::ALL.iter().map(|role| role.word()).collect(),
            _ => Vec::new(),
        }
    }

    /// Turns to the next of those words, or the one before; false where there are none.
    pub(super) fn turn(&mut self, forward: bool, shop: Shop<'_>) -> bool {
        let words = self.words();
        let Some(last) = words.len().checked_sub(1) else { return false };
        let now = words.iter().position(|word| *word == self.input.value());
        let at = match (now, forward) {
            (Some(at), true) if at < last => at.saturating_add(1),
            (Some(at), false) if at > 0 => at.saturating_sub(1),
            (Some(_) | None, true) => 0,
            (Some(_) | None, false) => last,
        };
        if let Some(word) = words.get(at) {
            self.input = Input::new((*word).to_owned());
            self.put((*word).to_owned(), shop);
        }
        true
    }

    /// The cells in the order one goes through them.
    fn cells(&self) -> Vec<Cell> {
        let head = (0..HEAD.len()).map(Cell::Head);
        let rows = (0..self.rows().len()).flat_map(|row| [Cell::Toner(row), Cell::Parts(row)]);
        head.chain(rows).collect()
    }

    /// Goes to the next cell, or the one before. Behind the last a new row begins, if the last has something.
    pub(super) fn step(&mut self, forward: bool, shop: Shop<'_>) {
        let cells = self.cells();
        let at = cells.iter().position(|cell| *cell == self.at).unwrap_or(0);
        let next = if forward { at.checked_add(1) } else { at.checked_sub(1) };
        match next.and_then(|at| cells.get(at)) {
            Some(cell) => self.go(*cell),
            None if forward => self.add_row(shop),
            None => {}
        }
    }

    /// Goes up or down in the column.
    pub(super) fn rise(&mut self, down: bool) {
        let last = self.rows().len().saturating_sub(1);
        let cell = match (self.at, down) {
            (Cell::Head(at), true) if at.saturating_add(1) < HEAD.len() => Cell::Head(at.saturating_add(1)),
            (Cell::Head(_), true) => Cell::Toner(0),
            (Cell::Head(at), false) => Cell::Head(at.saturating_sub(1)),
            (Cell::Toner(0) | Cell::Parts(0), false) => Cell::Head(HEAD.len().saturating_sub(1)),
            (Cell::Toner(row), false) => Cell::Toner(row.saturating_sub(1)),
            (Cell::Parts(row), false) => Cell::Parts(row.saturating_sub(1)),
            (Cell::Toner(row), true) => Cell::Toner(row.saturating_add(1).min(last)),
            (Cell::Parts(row), true) => Cell::Parts(row.saturating_add(1).min(last)),
        };
        self.go(cell);
    }

    /// The row that has the cursor.
    pub(super) const fn row(&self) -> Option<usize> {
        match self.at {
            Cell::Head(_) => None,
            Cell::Toner(row) | Cell::Parts(row) => Some(row),
        }
    }

    /// Adds a toner behind the last, unless the last is still empty.
    pub(super) fn add_row(&mut self, shop: Shop<'_>) {
        let Some(layer) = self.draft.layers.get_mut(self.layer) else { return };
        if layer.rows.last().is_none_or(|row| *row != DraftRow::default()) {
            layer.rows.push(DraftRow::default());
        }
        let last = layer.rows.len().saturating_sub(1);
        self.go(Cell::Toner(last));
        self.check(shop);
    }

    /// Takes the row with the cursor out; a layer whose last toner goes, goes too, unless it is the only one.
    pub(super) fn remove_row(&mut self, shop: Shop<'_>) {
        let layers = self.draft.layers.len();
        let (Some(row), Some(layer)) = (self.row(), self.draft.layers.get_mut(self.layer)) else { return };
        if row < layer.rows.len() {
            layer.rows.remove(row);
        }
        if layer.rows.is_empty() && layers > 1 {
            self.draft.layers.remove(self.layer);
            self.layer = self.layer.saturating_sub(1);
        } else if layer.rows.is_empty() {
            layer.rows.push(DraftRow::default());
        }
        let last = self.rows().len().saturating_sub(1);
        self.go(Cell::Toner(row.min(last)));
        self.check(shop);
    }

    /// Opens the next layer; behind the last a new one, for the first purpose that is still free.
    pub(super) fn next_layer(&mut self, shop: Shop<'_>) {
        let next = self.layer.saturating_add(1);
        let empty = self.rows().iter().all(|row| *row == DraftRow::default());
        if next < self.draft.layers.len() {
            self.layer = next;
        } else if let Some(role) = self.free_role().filter(|_| !empty) {
            let role = role.word().to_owned();
            self.draft.layers.push(DraftLayer {
                role,
                rows: vec![DraftRow::default()],
                ..DraftLayer::default()
            });
            self.layer = next;
            self.check(shop);
            return self.go(Cell::Head(HEAD.len().saturating_sub(1)));
        } else {
            self.layer = 0;
        }
        self.go(Cell::Toner(0));
    }

    fn free_role(&self) -> Option<Role> {
        let taken = |role: &Role| self.draft.layers.iter().any(|layer| layer.role == role.word());
        Role::ALL.iter().copied().find(|role| !taken(role))
    }

    /// Goes to the first thing that is wrong, in whatever layer.
    pub(super) fn go_to_fault(&mut self) {
        let Some(field) = self.faults.first().map(|fault| fault.field) else { return };
        if let Some(layer) = layer_of(field) {
            self.layer = layer.min(self.draft.layers.len().saturating_sub(1));
        }
        // The same colour once more is told apart by its variant.
        let twice = matches!(self.doing, Doing::Copy(_)) && self.draft.code == self.was.code;
        self.go(match field {
            Field::Code if twice && !self.draft.code.is_empty() => Cell::Head(2),
            Field::Code => Cell::Head(0),
            Field::Name => Cell::Head(1),
            Field::Variant => Cell::Head(2),
            Field::Finish => Cell::Head(3),
            Field::Swatch => Cell::Head(4),
            Field::Toner { row, .. } => Cell::Toner(row),
            Field::Parts { row, .. } => Cell::Parts(row),
            _ => Cell::Head(5),
        });
    }
}

const fn layer_of(field: Field) -> Option<usize> {
    match field {
        Field::Role { layer }
        | Field::Rows { layer }
        | Field::Toner { layer, .. }
        | Field::Parts { layer, .. } => Some(layer),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::catalogue::Catalogue;

    fn demo() -> (Catalogue, Known) {
        let shop = Catalogue::demo();
        let known = Known::in_memory(shop.colours.clone(), Vec::new());
        (shop, known)
    }

    fn typed(formula: &mut Formula, text: &str, shop: Shop<'_>) {
        formula.edit(InputRequest::DeleteLine, shop);
        for letter in text.chars() {
            formula.edit(InputRequest::InsertChar(letter), shop);
        }
    }

    #[test]
    fn a_new_colour_from_nothing() {
        let (demo, known) = demo();
        let shop = Shop { toners: &demo.toners, known: &known };
        let mut new = Formula::new(Doing::New, Draft::default(), 0, shop);
        assert!(new.check(shop).is_none());
        for text in ["X-1", "Otter", "standard", "single-stage"] {
            typed(&mut new, text, shop);
            new.step(true, shop);
        }
        new.step(true, shop);
        assert_eq!(new.at, Cell::Head(5));
        assert_eq!(new.text(new.at), "base");
        for text in ["W10", "80,5", "K05", "1"] {
            new.step(true, shop);
            typed(&mut new, text, shop);
        }
        let colour = new.check(shop).unwrap();
        assert_eq!(
            (colour.name.as_str(), colour.layers.len(), colour.layers[0].pours.len()),
            ("Otter", 1, 2)
        );
        assert_eq!(colour.layers[0].pours[0].parts.to_string(), "80.5");
        new.next_layer(shop);
        assert_eq!((new.layer, new.text(Cell::Head(5))), (1, "undercoat"));
        // An empty layer is none that a further one comes behind.
        new.next_layer(shop);
        assert_eq!((new.layer, new.draft.layers.len()), (0, 2));
    }

    #[test]
    fn words_are_turned_through_and_rows_come_and_go() {
        let (demo, known) = demo();
        let shop = Shop { toners: &demo.toners, known: &known };
        let colour = demo.colour("PB-3140").unwrap();
        let doing = Doing::Change(Box::new(colour.clone()));
        let mut change = Formula::new(doing, Draft::of(colour), 1, shop);
        assert!(!change.is_changed() && change.faults.is_empty());
        let rows = change.rows().len();
        change.add_row(shop);
        assert_eq!((change.rows().len(), change.at), (rows + 1, Cell::Toner(rows)));
        change.add_row(shop);
        assert_eq!(change.rows().len(), rows + 1, "an empty row is enough");
        assert!(!change.faults.is_empty());
        change.remove_row(shop);
        assert!(!change.is_changed() && change.faults.is_empty());
        change.go(Cell::Head(3));
        assert!(change.turn(true, shop));
        assert_ne!(change.text(Cell::Head(3)), "three-stage");
        change.turn(false, shop);
        assert_eq!(change.text(Cell::Head(3)), "three-stage");
        change.go(Cell::Toner(0));
        assert!(!change.turn(true, shop));
        typed(&mut change, "W1O", shop);
        assert!(change.fault(Cell::Toner(0)).is_some_and(|fault| fault.sentence().contains("W10")));
        change.go(Cell::Head(0));
        change.go_to_fault();
        assert_eq!(change.at, Cell::Toner(0));
    }
}
