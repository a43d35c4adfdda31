//! How does an answer reach the person? Streams, colour, and one cleaner for text from outside.

use std::io::{self, IsTerminal, Write};

use binwright_catalog::shown::shown;
use binwright_shop::causes;

use crate::act::Failure;
use crate::args::Colour;

/// How answers are given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Form {
    /// For reading.
    Text,
    /// Tab-separated, nothing wrapped.
    Plain,
    /// JSON.
    Json,
}

/// Standard output with what was decided about it.
#[derive(Debug)]
pub struct Say {
    /// How answers are given.
    pub form: Form,
    colour: bool,
    text: String,
}

impl Say {
    /// Decides about colour: the option first, then `NO_COLOR` (set and not empty),
    /// `CLICOLOR_FORCE`, `TERM=dumb`, then whether standard output is a terminal.
    pub fn new(form: Form, colour: Colour) -> Self {
        let set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
        let dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
        let forced =
            set("CLICOLOR_FORCE") && std::env::var_os("CLICOLOR_FORCE").is_some_and(|v| v != "0");
        let colour = match colour {
            Colour::Always => true,
            Colour::Never => false,
            Colour::Auto if set("NO_COLOR") => false,
            Colour::Auto => forced || (!dumb && io::stdout().is_terminal()),
        };
        Self { form, colour: colour && form == Form::Text, text: String::new() }
    }

    /// Adds what was done, or only tried.
    pub fn done(&mut self, what: impl std::fmt::Display, dry_run: bool) {
        let tried = if dry_run { "; only tried, nothing was written" } else { "" };
        self.line(format!("{what}{tried}"));
    }

    /// Adds one line. Control characters from outside become visible marks.
    pub fn line(&mut self, line: impl AsRef<str>) {
        self.text.push_str(&shown(line.as_ref()));
        self.text.push('\n');
    }

    /// Adds a heading line.
    pub fn heading(&mut self, line: impl AsRef<str>) {
        if self.colour {
            self.text.push_str("\x1b[1m");
            self.text.push_str(&shown(line.as_ref()));
            self.text.push_str("\x1b[0m\n");
        } else {
            self.line(line);
        }
    }

    /// Adds one line of fields, tabs between them; tabs and line ends inside a field become marks.
    pub fn fields<S: AsRef<str>>(&mut self, fields: &[S]) {
        let row: Vec<_> =
            fields.iter().map(|field| shown(field.as_ref()).replace('\t', " ")).collect();
        self.text.push_str(&row.join("\t"));
        self.text.push('\n');
    }

    /// Adds `answer` as one line of JSON.
    ///
    /// # Errors
    ///
    /// When it cannot be written as JSON.
    pub fn json(&mut self, answer: &impl serde::Serialize) -> Result<(), serde_json::Error> {
        self.text.push_str(&serde_json::to_string(answer)?);
        self.text.push('\n');
        Ok(())
    }

    /// Sends what was said so far to standard output. A reader that has gone away is no error.
    ///
    /// # Errors
    ///
    /// When standard output cannot be written for another reason (a full disk).
    pub fn send(&mut self) -> io::Result<()> {
        let text = std::mem::take(&mut self.text);
        let mut out = io::stdout().lock();
        match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
            other => other,
        }
    }
}

/// Says on standard error why a command could not: the message, its causes, what would be right.
pub fn complain(form: Form, failure: &Failure) {
    let causes = causes(failure);
    let hint = failure.hint();
    let again = failure.is_out_of_reach().then(typed);
    let mut text = String::new();
    if form == Form::Json {
        let mut error = serde_json::json!({
            "error": failure.to_string(), "causes": causes, "hint": hint,
        });
        if let Some(again) = again {
            error["not_done"] = again.into();
        }
        text.push_str(&error.to_string());
        text.push('\n');
    } else {
        text.push_str(&format!("error: {}\n", shown(&failure.to_string())));
        causes.iter().for_each(|cause| text.push_str(&format!("  because: {}\n", shown(cause))));
        if let Some(hint) = hint {
            text.push_str(&format!("hint: {}\n", shown(&hint)));
        }
        if let Some(again) = again {
            text.push_str(&format!("not done: {}\n", shown(&again)));
        }
    }
    let _ = io::stderr().write_all(text.as_bytes());
}

/// The command as it was typed, so that a shell takes it again.
fn typed() -> String {
    let words = std::env::args_os().skip(1).map(|word| quoted(&word.to_string_lossy()));
    std::iter::once("binwright".to_owned()).chain(words).collect::<Vec<_>>().join(" ")
}

/// A word as a shell takes it.
fn quoted(word: &str) -> String {
    let plain = |sign: char| sign.is_alphanumeric() || "-_./:=,+@%".contains(sign);
    if !word.is_empty() && word.chars().all(plain) {
        return word.to_owned();
    }
    format!("'{}'", word.replace('\'', r"'\''"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_word_is_quoted_where_a_shell_would_read_it_otherwise() {
        let rows = [
            ("RP-1107C", "RP-1107C"),
            ("od=112.1", "od=112.1"),
            ("R. Mott", "'R. Mott'"),
            ("", "''"),
            ("O'Dea", r"'O'\''Dea'"),
            ("$x", "'$x'"),
        ];
        for (word, taken) in rows {
            assert_eq!(quoted(word), taken);
        }
    }
}
