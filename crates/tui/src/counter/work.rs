//! What does the counter have done, not only answered? Slips, what takes them back, paper.

use binwright_shop::stock::by_hand::Handled;

use super::{Aid, Counter, Wish};
use crate::desk::Effect;
use crate::question::{Answer, Question};

impl Counter {
    /// Takes in what came of work; `None` when the answer is to a question.
    pub(super) fn worked(&mut self, answer: &Answer) -> Option<Vec<Effect>> {
        let slip = match &mut self.aid {
            Some(Aid::Slip(slip)) => Some(slip),
            _ => None,
        };
        Some(match answer {
            Answer::Scanned(scanned) => {
                let wish = slip.map_or(Wish::Stay, |slip| slip.found(scanned.clone()));
                self.grant(wish)
            }
            Answer::Handled(handled) => self.handled(handled.clone()),
            Answer::NotHandled(what) => {
                self.taking_back = false;
                let Some(slip) = slip else {
                    return Some(vec![Effect::Say(format!("! {what}"))]);
                };
                let wish = slip.troubled(what);
                self.grant(wish)
            }
            _ => return None,
        })
    }

    fn handled(&mut self, handled: Handled) -> Vec<Effect> {
        if std::mem::take(&mut self.taking_back) {
            self.back.pop();
        }
        // What was counted stands on a sheet and is no posting yet.
        if handled.back.is_some() || handled.sheet.is_some() {
            self.back.push(handled.back);
        }
        let mut effects = if let Some(Aid::Slip(slip)) = &mut self.aid {
            let wish = slip.handled(handled);
            self.grant(wish)
        } else {
            vec![Effect::Say(handled.says)]
        };
        effects.extend(self.ask_again());
        effects
    }

    /// Takes back what the last slip did.
    pub(super) fn take_back(&mut self) -> Vec<Effect> {
        if self.taking_back {
            return Vec::new();
        }
        match self.back.last() {
            Some(Some(back)) => {
                self.taking_back = true;
                vec![Effect::Ask(0, Question::TakeBack(*back))]
            }
            Some(None) => {
                self.back.pop();
                let says = "a count is mended by counting the line again, or, once its sheet is \
                            posted, with `binwright stock correct`"
                    .to_owned();
                match &mut self.aid {
                    Some(Aid::Slip(slip)) => slip.said(says),
                    _ => return vec![Effect::Say(says)],
                }
                Vec::new()
            }
            None => vec![Effect::Say("there is no slip to take back".to_owned())],
        }
    }

    /// Puts the marked parts on paper, or the chosen one.
    pub(super) fn outline(&self) -> Vec<Effect> {
        let chosen = || self.chosen().map(|row| row.number.clone());
        let numbers = match self.marked.as_slice() {
            [] => chosen().into_iter().collect(),
            marked => marked.to_vec(),
        };
        vec![Effect::Ask(0, Question::Outline(numbers))]
    }

    pub(super) fn mark(&mut self) {
        let Some(row) = self.chosen() else { return };
        match self.marked.iter().position(|number| *number == row.number) {
            Some(at) => drop(self.marked.remove(at)),
            None => self.marked.push(row.number.clone()),
        }
    }
}
