//! Does nobody at the counter wait for a long answer at another desk? The loop, with its keys and
//! its two threads played by the test.

use std::sync::Arc;

use binwright_shop::catalog::Kinds;
use crossterm::event::{KeyCode, KeyEvent};
use ratatui::layout::Rect;
use ratatui::{TerminalOptions, Viewport};

use super::ends::start;
use super::*;
use crate::question::Question;

#[test]
fn a_long_answer_at_one_desk_keeps_no_other_waiting() {
    let folder = tempfile::tempdir().unwrap();
    let start = start(folder.path());
    let keys = Keys::laid_over("").unwrap();
    let mut app = App::new(keys, start.theme, start.scanner, History::default());
    let (wake, woken) = channel();
    let (asked, seen) = channel();
    let kinds = Arc::new(Kinds::builtin().unwrap());
    let opened =
        Report::Opened { name: "Test".to_owned(), parts: 0, kinds, several_branches: false };
    wake.send(Wake::Report(opened)).unwrap();
    for code in [KeyCode::F(4), KeyCode::F(2), KeyCode::Char('x')] {
        wake.send(Wake::Input(Event::Key(KeyEvent::from(code)))).unwrap();
    }
    let ask = |answering| {
        let (asked, wake) = (asked.clone(), wake.clone());
        ask_in_thread(wake.clone(), move |jobs| {
            let aside = matches!(answering, Answering::Aside { .. });
            while let Ok(job) = jobs.recv() {
                if matches!(job.question, Question::Find(_)) {
                    wake.send(Wake::Signal(SIGTERM)).unwrap();
                }
                asked.send((aside, job.question)).unwrap();
            }
            Ok(())
        })
    };
    let viewport = Viewport::Fixed(Rect::new(0, 0, 80, 24));
    let mut terminal =
        Terminal::with_options(CrosstermBackend::new(Vec::new()), TerminalOptions { viewport })
            .unwrap();
    let ended = turn(&mut app, &mut terminal, &woken, ask, &start).unwrap();
    assert_eq!(ended, Ended::Signal(SIGTERM));
    drop(asked);
    let seen: Vec<_> = seen.iter().collect();
    assert!(seen.iter().any(|(aside, question)| *aside && question.is_slow()), "{seen:?}");
    assert!(seen.contains(&(false, Question::Find("x".to_owned()))), "{seen:?}");
}
