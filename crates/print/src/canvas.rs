//! What is drawn on a sheet? Marks in millimetres, told once and written as PDF and as SVG.
//!
//! The origin is the sheet's top left corner, x to the right, y down. Marks come in blocks that say
//! what they are for a reader who cannot see them.

use std::sync::Arc;

use crate::face::{Line, Weight};

/// x and y in mm.
pub(crate) type Place = [f64; 2];

/// An upright rectangle in mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Area {
    pub(crate) left: f64,
    pub(crate) top: f64,
    pub(crate) right: f64,
    pub(crate) bottom: f64,
}

impl Area {
    pub(crate) fn new(left: f64, top: f64, width: f64, height: f64) -> Self {
        Self { left, top, right: left + width, bottom: top + height }
    }

    pub(crate) fn around(centre: Place, reach: f64) -> Self {
        Self::new(centre[0] - reach, centre[1] - reach, 2.0 * reach, 2.0 * reach)
    }

    pub(crate) fn width(&self) -> f64 {
        self.right - self.left
    }

    pub(crate) fn height(&self) -> f64 {
        self.bottom - self.top
    }

    pub(crate) fn with(self, other: Self) -> Self {
        Self {
            left: self.left.min(other.left),
            top: self.top.min(other.top),
            right: self.right.max(other.right),
            bottom: self.bottom.max(other.bottom),
        }
    }

    pub(crate) fn grown(self, by: f64) -> Self {
        Self {
            left: self.left - by,
            top: self.top - by,
            right: self.right + by,
            bottom: self.bottom + by,
        }
    }

    pub(crate) fn meets(&self, other: &Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    pub(crate) fn holds(&self, other: &Self) -> bool {
        self.left <= other.left
            && self.right >= other.right
            && self.top <= other.top
            && self.bottom >= other.bottom
    }
}

/// How a line looks: told apart by its dashes, never by colour.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Pen {
    pub(crate) width_mm: f64,
    /// Lengths in mm of ink and gap by turns; empty for a whole line.
    pub(crate) dash_mm: &'static [f64],
}

impl Pen {
    pub(crate) const HAIR: Self = Self { width_mm: 0.1, dash_mm: &[] };
    pub(crate) const THIN: Self = Self { width_mm: 0.2, dash_mm: &[] };
    pub(crate) const FIRM: Self = Self { width_mm: 0.35, dash_mm: &[] };
    pub(crate) const DOTS: Self = Self { width_mm: 0.2, dash_mm: &[0.4, 1.2] };
}

/// A picture as its file has it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Picture {
    pub(crate) image: krilla::image::Image,
    pub(crate) mime: &'static str,
    pub(crate) file: Arc<Vec<u8>>,
}

/// One thing drawn.
#[derive(Debug, Clone)]
pub(crate) enum Mark {
    Lines {
        lines: Vec<[Place; 2]>,
        pen: Pen,
    },
    Circle {
        centre: Place,
        radius_mm: f64,
        pen: Pen,
    },
    Frame {
        area: Area,
        pen: Pen,
    },
    /// Areas filled with ink.
    Ink(Vec<Area>),
    /// A line of text whose baseline starts at `at`; `upward` when it reads from bottom to top.
    Text {
        at: Place,
        size_mm: f64,
        line: Line,
        upward: bool,
    },
    Picture {
        area: Area,
        picture: Picture,
    },
}

/// What a block is, for a reader who cannot see it.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Role {
    /// Lines and repeats that say nothing of their own.
    Decoration,
    Heading(String),
    Paragraph,
    /// A drawing and what it shows, in words.
    Figure(String),
    /// A cell of a table of the document.
    Cell {
        table: usize,
        row: usize,
        head: bool,
    },
}

/// Marks that belong together.
#[derive(Debug, Clone)]
pub(crate) struct Block {
    pub(crate) role: Role,
    /// Nothing is drawn outside of it.
    pub(crate) clip: Option<Area>,
    pub(crate) marks: Vec<Mark>,
}

impl Block {
    pub(crate) fn new(role: Role) -> Self {
        Self { role, clip: None, marks: Vec::new() }
    }

    pub(crate) fn line(&mut self, from: Place, to: Place, pen: Pen) {
        self.marks.push(Mark::Lines { lines: vec![[from, to]], pen });
    }

    /// A cross whose arms are `reach` mm long.
    pub(crate) fn cross(&mut self, [x, y]: Place, reach: f64, pen: Pen) {
        let lines = vec![[[x - reach, y], [x + reach, y]], [[x, y - reach], [x, y + reach]]];
        self.marks.push(Mark::Lines { lines, pen });
    }

    pub(crate) fn text(&mut self, at: Place, size_mm: f64, line: Line) {
        self.marks.push(Mark::Text { at, size_mm, line, upward: false });
    }

    pub(crate) fn write(&mut self, at: Place, size_mm: f64, text: &str) {
        self.text(at, size_mm, Line::new(text, Weight::Book));
    }
}

/// One side of paper.
#[derive(Debug, Clone)]
pub(crate) struct Sheet {
    pub(crate) size_mm: [f64; 2],
    /// What everything is multiplied by, around the sheet's middle.
    pub(crate) scale: [f64; 2],
    pub(crate) blocks: Vec<Block>,
}

impl Sheet {
    pub(crate) fn new(size_mm: [f64; 2], scale: [f64; 2]) -> Self {
        Self { size_mm, scale, blocks: Vec::new() }
    }

    /// Opens a block of `role` to draw in.
    pub(crate) fn block(&mut self, role: Role) -> &mut Block {
        self.blocks.push(Block::new(role));
        self.blocks.last_mut().expect("pushed above")
    }
}
