//! In which colours and marks is a screen drawn? Tones, never colours, stand in the views.
//!
//! Colours are the terminal's own sixteen and no background is ever set, so that light and dark
//! screens both keep what their owner chose. A colour only repeats what a word or a mark says.

use ratatui::style::{Color, Modifier, Style};

/// What a piece of text is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// Text.
    Plain,
    /// What may be overlooked: rules, units, what was not taken.
    Quiet,
    /// Heads and numbers.
    Head,
    /// The line under the cursor.
    Cursor,
    /// What was measured.
    Taken,
    /// Agrees.
    Inside,
    /// Nearly agrees.
    Near,
    /// Disagrees, or went wrong.
    Outside,
}

/// Which colours there are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Palette {
    /// None: bold, dim and reversed only.
    Mono,
    /// Sixteen, on a dark background.
    Dark,
    /// Sixteen, on a light background or one that is not known: the dark half reads on both.
    #[default]
    Light,
}

/// How screens are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Theme {
    /// Which colours.
    pub palette: Palette,
    /// Only characters of ASCII.
    pub ascii: bool,
}

impl Theme {
    /// The style of `tone`.
    pub fn style(self, tone: Tone) -> Style {
        let plain = Style::new();
        let (taken, near, outside) = match self.palette {
            Palette::Mono => (None, None, None),
            Palette::Dark => {
                (Some(Color::LightBlue), Some(Color::LightYellow), Some(Color::LightRed))
            }
            Palette::Light => (Some(Color::Blue), Some(Color::Magenta), Some(Color::Red)),
        };
        let coloured = |colour: Option<Color>| colour.map_or(plain, |colour| plain.fg(colour));
        match tone {
            Tone::Plain | Tone::Inside => plain,
            Tone::Quiet => plain.add_modifier(Modifier::DIM),
            Tone::Head => plain.add_modifier(Modifier::BOLD),
            Tone::Cursor => plain.add_modifier(Modifier::REVERSED),
            Tone::Taken => coloured(taken),
            Tone::Near => coloured(near),
            Tone::Outside => coloured(outside).add_modifier(Modifier::BOLD),
        }
    }

    /// What stands before a row: a mark when the cursor is `on` it.
    pub fn pointer(self, on: bool) -> &'static str {
        if on { self.mark("▸ ", "> ") } else { "  " }
    }

    /// `fine`, or `plain` where only ASCII is drawn.
    pub fn mark(self, fine: &'static str, plain: &'static str) -> &'static str {
        if self.ascii { plain } else { fine }
    }
}
