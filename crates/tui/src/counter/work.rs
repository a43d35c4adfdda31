//! What does the counter have done, not only answered? Slips, what takes them back, paper.

use binwright_shop::stock::by_hand::Handled;

use super::slip::Asks;
use super::{Aid, Counter};
use crate::desk::Effect;
use crate::worker::{Answer, Question};

impl Counter {
    /// Takes in what came of work; `None` when the answer is to a question.
    pub(super) fn worked(&mut self, answer: &Answer) -> Option<Vec<Effect>> {
        let slip = match &mut self.aid {
            Some(Aid::Slip(slip)) => Some(slip),
            _ => None,
        };
        Some(match answer {
            Answer::Scanned(scanned) => {
                let asks = slip.map_or(Asks::Nothing, |slip| slip.found(scanned.clone()));
                self.slip_asks(asks)
            }
            Answer::Handled(handled) => self.handled(handled.clone()),
            Answer::NotHandled(what, hint) => {
                let what = format!("{what}. {}", hint.as_deref().unwrap_or(""));
                match slip {
                    Some(slip) => slip.troubled(what),
                    None => return Some(vec![Effect::Say(format!("! {what}"))]),
                }
                Vec::new()
            }
            _ => return None,
        })
    }

    fn handled(&mut self, handled: Handled) -> Vec<Effect> {
        let mut effects = Vec::new();
        self.back.extend(handled.back);
        match &mut self.aid {
            Some(Aid::Slip(slip)) => slip.handled(handled),
            _ => effects.push(Effect::Say(handled.says)),
        }
        effects.extend(self.ask_again());
        effects
    }

    pub(super) fn slip_asks(&mut self, asks: Asks) -> Vec<Effect> {
        match asks {
            Asks::Nothing => Vec::new(),
            Asks::Doing => match &self.aid {
                Some(Aid::Slip(slip)) => vec![Effect::Ask(0, slip.question())],
                _ => Vec::new(),
            },
            Asks::Close => {
                self.laid_aside = self.aid.take();
                Vec::new()
            }
        }
    }

    /// Takes back what the last slip did.
    pub(super) fn take_back(&mut self) -> Vec<Effect> {
        match self.back.pop() {
            Some(back) => vec![Effect::Ask(0, Question::TakeBack(back))],
            None => vec![Effect::Say("there is no slip to take back".to_owned())],
        }
    }

    /// Puts the marked parts on paper, or the chosen one.
    pub(super) fn outline(&self) -> Vec<Effect> {
        let chosen = || self.rows.get(self.cursor).map(|row| row.number.clone());
        let numbers = match self.marked.as_slice() {
            [] => chosen().into_iter().collect(),
            marked => marked.to_vec(),
        };
        vec![Effect::Ask(0, Question::Outline(numbers))]
    }

    pub(super) fn mark(&mut self) {
        let Some(row) = self.rows.get(self.cursor) else { return };
        match self.marked.iter().position(|number| *number == row.number) {
            Some(at) => drop(self.marked.remove(at)),
            None => self.marked.push(row.number.clone()),
        }
    }
}
