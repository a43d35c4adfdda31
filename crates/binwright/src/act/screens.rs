//! How do the screens open? On a terminal only; what the environment says becomes plain values.

use std::env;
use std::io::{self, IsTerminal, Write};
use std::time::Duration;

use binwright_shop::ShopError;
use binwright_tui::actions::ACTIONS;
use binwright_tui::scanner::Scanner;
use binwright_tui::theme::{Palette, Theme};
use binwright_tui::worker::Where;
use binwright_tui::{Ended, Start, Within};
use clap::CommandFactory;

use super::{Done, Failure, today};
use crate::args::screens::ScreensArgs;
use crate::args::stock::user;
use crate::args::{Colour, Line};
use crate::password::asking;
use crate::places::Places;

/// Opens the screens on the shop in `places`; without a terminal, says how the command is used.
///
/// # Errors
///
/// [`Failure`] when the terminal cannot be used or the key file has a mistake.
pub fn open(places: &Places, args: ScreensArgs, colour: Colour) -> Result<Done, Failure> {
    if !(io::stdin().is_terminal() && io::stdout().is_terminal()) {
        let help = Line::command().render_help();
        let _ = write!(io::stderr(), "{help}");
        std::process::exit(2);
    }
    let start = Start {
        place: Where {
            // The screens cannot ask; whatever else is wrong with the line they say themselves.
            shop: asking(&places.shop, |place| match place.reach().map_err(ShopError::from) {
                Err(error) if error.wants_password() => Err(error),
                _ => Ok(place),
            })?,
            branch: places.branch.clone(),
            cache: places.cache.clone(),
            demo: places.demo.clone(),
            today,
            who: set("BINWRIGHT_WHO").unwrap_or_else(user),
        },
        history: places.history.clone(),
        keys: places.keys.clone(),
        theme: Theme { palette: palette(colour), ascii: args.ascii || !has_unicode() },
        scanner: Scanner {
            gap: Duration::from_millis(args.scan_gap_ms),
            prefix: args.scan_prefix,
            ..Scanner::default()
        },
        mouse: args.mouse,
        within: match (set("TMUX"), set("STY")) {
            (Some(_), _) => Within::Tmux,
            (None, Some(_)) => Within::Screen,
            (None, None) => Within::Terminal,
        },
    };
    match binwright_tui::run(&start)? {
        Ended::Left => Ok(Done::Well),
        // As a shell tells it: 128 and the signal's number.
        Ended::Signal(signal) => std::process::exit(128 + signal),
    }
}

fn set(name: &str) -> Option<String> {
    env::var(name).ok().filter(|value| !value.is_empty())
}

/// The option first, then `NO_COLOR` and `TERM`; a background is believed only where the terminal
/// says so itself (`COLORFGBG`, its last figure: 0 to 6 and 8 are dark).
fn palette(colour: Colour) -> Palette {
    let none = set("NO_COLOR").is_some() || set("TERM").is_some_and(|term| term == "dumb");
    if colour == Colour::Never || (colour == Colour::Auto && none) {
        return Palette::Mono;
    }
    let ground = set("COLORFGBG").and_then(|pair| pair.rsplit(';').next()?.parse::<u8>().ok());
    match ground {
        Some(0..=6 | 8) => Palette::Dark,
        _ => Palette::Light,
    }
}

/// Whether the locale has more than ASCII, in the order POSIX looks at the variables.
fn has_unicode() -> bool {
    let locale = ["LC_ALL", "LC_CTYPE", "LANG"].into_iter().find_map(set).unwrap_or_default();
    let locale = locale.to_lowercase();
    locale.contains("utf-8") || locale.contains("utf8")
}

/// Adds the keys of the screens to the manual (roff), from their own table.
pub fn manual(out: &mut Vec<u8>) -> io::Result<()> {
    let mut under = None;
    for action in ACTIONS {
        if under != Some(action.context) {
            under = Some(action.context);
            writeln!(out, ".SH \"KEYS OF THE SCREENS: {}\"", action.context.name())?;
        }
        writeln!(out, ".TP\n\\fB{}\\fR ({})\n{}", action.keys, action.name, action.help)?;
    }
    Ok(())
}
