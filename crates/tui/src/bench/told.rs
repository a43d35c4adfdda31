//! How does a longer tale read? Lines with a word in front that says what they are.

use ratatui::text::{Line, Span};

use crate::text::{left, wrapped};
use crate::theme::{Theme, Tone};

/// Columns of the word in front.
const LEAD: usize = 10;

/// One thing that is told: a word for what it is, and the text.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Told {
    pub lead: &'static str,
    pub text: String,
    pub tone: Tone,
}

impl Told {
    pub fn plain(lead: &'static str, text: impl Into<String>) -> Self {
        Self { lead, text: text.into(), tone: Tone::Plain }
    }

    pub fn head(lead: &'static str, text: impl Into<String>) -> Self {
        Self { lead, text: text.into(), tone: Tone::Head }
    }

    /// What can hurt: told in words, and as loud as there is.
    pub fn caution(text: impl Into<String>) -> Self {
        Self { lead: "CAUTION", text: text.into(), tone: Tone::Outside }
    }
}

/// `tale` in lines of at most `width` columns; the word in front stands once.
pub(super) fn lines(tale: &[Told], width: usize, theme: Theme) -> Vec<Line<'static>> {
    let mut lines = Vec::new();
    for told in tale {
        let lead_tone = if told.tone == Tone::Outside { Tone::Outside } else { Tone::Quiet };
        for (at, text) in
            wrapped(&told.text, width.saturating_sub(LEAD), theme).into_iter().enumerate()
        {
            let lead = left(if at == 0 { told.lead } else { "" }, LEAD, theme);
            lines.push(Line::from(vec![
                Span::styled(lead, theme.style(lead_tone)),
                Span::styled(text, theme.style(told.tone)),
            ]));
        }
    }
    lines
}
