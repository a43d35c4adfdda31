//! What is there before there is a shop? An offer: open the made-up one, or make one's own.

use binwright_shop::catalog::Currency;
use ratatui::Frame;
use ratatui::layout::{Position, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::Paragraph;
use tui_input::{Input, InputRequest};

use crate::actions::{Act, Context};
use crate::desk::{Desk, Effect, Msg};
use crate::question::Answer;
use crate::text::{cut, told_wrong, wrapped};
use crate::theme::{Theme, Tone};
use crate::worker::{Make, Where};

const CHOICES: [&str; 3] = ["look around in a made-up shop", "make a new, empty shop", "leave"];

/// What is asked for a new shop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Step {
    Choose,
    Name,
    Currency,
    Making,
}

/// The offer.
#[derive(Debug)]
pub struct Offer {
    place: Where,
    step: Step,
    at: usize,
    name: String,
    line: Input,
    trouble: Option<String>,
}

impl Offer {
    /// The offer for the folders in `place`.
    pub fn new(place: Where) -> Self {
        let (name, line) = (String::new(), Input::default());
        Self { place, step: Step::Choose, at: 0, name, line, trouble: None }
    }

    fn typed(&mut self, letter: char) {
        if self.context() == Context::Line {
            self.line.handle(InputRequest::InsertChar(letter));
        }
    }

    fn accept(&mut self) -> Vec<Effect> {
        self.trouble = None;
        match (self.step, self.at) {
            (Step::Choose, 0) => {
                self.step = Step::Making;
                return vec![Effect::Make(Make::Demo)];
            }
            (Step::Choose, 1) => self.step = Step::Name,
            (Step::Choose, _) => return vec![Effect::Leave],
            (Step::Name, _) => {
                let name = self.line.value().trim();
                if !name.is_empty() {
                    name.clone_into(&mut self.name);
                    (self.step, self.line) = (Step::Currency, Input::new("EUR".to_owned()));
                }
            }
            (Step::Currency, _) => {
                match self.line.value().trim().to_uppercase().parse::<Currency>() {
                    Ok(currency) => {
                        self.step = Step::Making;
                        return vec![Effect::Make(Make::New { name: self.name.clone(), currency })];
                    }
                    Err(error) => self.trouble = Some(error.to_string()),
                }
            }
            (Step::Making, _) => {}
        }
        Vec::new()
    }
}

impl Desk for Offer {
    fn name(&self) -> &'static str {
        "welcome"
    }

    fn context(&self) -> Context {
        match self.step {
            Step::Choose | Step::Making => Context::List,
            Step::Name | Step::Currency => Context::Line,
        }
    }

    fn update(&mut self, msg: Msg) -> Vec<Effect> {
        match msg {
            Msg::Act(Act::Up) => self.at = self.at.saturating_sub(1),
            Msg::Act(Act::Down) => self.at = (self.at + 1).min(CHOICES.len() - 1),
            Msg::Act(Act::Accept) => return self.accept(),
            Msg::Act(Act::Back) => (self.step, self.line) = (Step::Choose, Input::default()),
            Msg::Act(act) => {
                act.editing().and_then(|request| self.line.handle(request));
            }
            Msg::Typed(letter) => self.typed(letter),
            Msg::Pasted(text) => text.chars().for_each(|letter| self.typed(letter)),
            Msg::Answered(_, Answer::Failed(what)) => {
                self.step = Step::Choose;
                self.trouble = Some(what);
            }
            _ => {}
        }
        Vec::new()
    }

    fn view(&self, frame: &mut Frame<'_>, area: Rect, theme: Theme) {
        let width = usize::from(area.width);
        let mut lines = vec![Line::default()];
        let shop = &self.place.shop;
        for text in wrapped(&format!("There is no shop in {shop} yet."), width, theme) {
            lines.push(Line::raw(text));
        }
        lines.push(Line::default());
        for (at, choice) in CHOICES.iter().enumerate() {
            let on = at == self.at;
            let mark = theme.pointer(on);
            let style = theme.style(if on { Tone::Head } else { Tone::Plain });
            lines.push(Line::from(vec![Span::raw(mark), Span::styled(*choice, style)]));
            let place = match at {
                0 => self.place.demo.display().to_string(),
                1 => shop.to_string(),
                _ => continue,
            };
            let place = cut(&format!("    in {place}"), width, theme);
            lines.push(Line::styled(place, theme.style(Tone::Quiet)));
        }
        lines.push(Line::default());
        let asks = match self.step {
            Step::Choose => "",
            Step::Name => "what is it called? ",
            Step::Currency => "in which money does it count (ISO 4217)? ",
            Step::Making => "making it ..",
        };
        if self.context() == Context::Line {
            let at = asks.len() + self.line.visual_cursor();
            let place = Position::new(area.x + at as u16, area.y + lines.len() as u16);
            frame.set_cursor_position(place);
        }
        lines.push(Line::raw(cut(&format!("{asks}{}", self.line.value()), width, theme)));
        if let Some(trouble) = &self.trouble {
            lines.extend(told_wrong(trouble, width, theme));
        }
        frame.render_widget(Paragraph::new(lines), area);
    }
}
