//! How are files taken in from the command line? Options, progress, and what came of it.

use std::fs;
use std::io::{self, IsTerminal};
use std::path::{Path, PathBuf};
use std::time::Duration;

use binwright_shop::ShopError;
use binwright_shop::files::{DecimalMark, ImportOptions, Imported, Separator};
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use crate::act::{Done, Failure, answer, open_behind, table};
use crate::args::ImportArgs;
use crate::args::stock::user;
use crate::places::Places;
use crate::say::{Form, Say};

/// Takes in the files in the order given, then brings the index along once.
///
/// # Errors
///
/// [`Failure`] when a file as a whole cannot be read; the files before it stay in.
pub fn run(args: &ImportArgs, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    let mut shop = open_behind(places)?;
    let mut options = options(args)?;
    let mut done = Vec::with_capacity(args.files.len());
    for file in &args.files {
        options.rejects = rejects(args, file);
        let bar = bar(&file.display().to_string(), (file != Path::new("-")).then_some(FULL));
        let imported = shop.import_file(file, &options, |at| {
            bar.set_position(at.share.map_or(at.rows, |share| (share * FULL as f64) as u64));
            bar.set_message(format!("{} rows", at.rows));
        });
        bar.finish_and_clear();
        done.push(imported?);
    }
    if !args.dry_run && !args.no_index {
        let bar = bar("index", None);
        bar.enable_steady_tick(Duration::from_millis(200));
        shop.follow()?;
        bar.finish_and_clear();
    }
    answer(say, &done, |say| done.iter().for_each(|imported| render(say, imported)))?;
    let rejected = done.iter().any(|imported| imported.rejected > 0);
    Ok(if rejected { Done::SomeRejected } else { Done::Well })
}

fn options(args: &ImportArgs) -> Result<ImportOptions, Failure> {
    let map = args
        .map
        .as_ref()
        .map(|path| {
            let text = fs::read_to_string(path)
                .map_err(|source| ShopError::Unreadable { path: path.clone(), source })?;
            Ok::<_, Failure>((path.display().to_string(), text))
        })
        .transpose()?;
    let decimal = match args.decimal.as_deref() {
        None => None,
        Some("point" | ".") => Some(DecimalMark::Point),
        Some("comma" | ",") => Some(DecimalMark::Comma),
        Some(found) => {
            let hint = "It is point or comma.".to_owned();
            return Err(Failure::Option { found: found.to_owned(), wanted: "decimal mark", hint });
        }
    };
    let separator = args
        .separator
        .as_ref()
        .map(|text| {
            Separator::named(text).ok_or_else(|| Failure::Option {
                found: text.clone(),
                wanted: "separator",
                hint: "It is , ; | or tab.".to_owned(),
            })
        })
        .transpose()?;
    Ok(ImportOptions {
        table: args.table.as_deref().map(table).transpose()?,
        map,
        decimal,
        encoding: args.encoding.clone(),
        separator,
        sheet: args.sheet.clone(),
        rejects: None,
        dry_run: args.dry_run,
        who: user(),
    })
}

/// Where the rejected rows of `file` go: beside it under a new name, unless it was said.
fn rejects(args: &ImportArgs, file: &Path) -> Option<PathBuf> {
    args.rejects.clone().or_else(|| {
        let name = file.file_stem().filter(|_| file != Path::new("-"))?.to_string_lossy();
        // Rejects of an earlier import may still wait to be mended: never write over them.
        (1..)
            .map(|at| if at == 1 { String::new() } else { format!("-{at}") })
            .map(|at| file.with_file_name(format!("{name}.rejects{at}.csv")))
            .find(|path| !path.exists())
    })
}

/// Steps of a bar that is full.
const FULL: u64 = 1000;

/// A bar on a terminal, of `full` steps where the end is known; nothing elsewhere.
pub fn bar(what: &str, full: Option<u64>) -> ProgressBar {
    let target = if io::stderr().is_terminal() {
        ProgressDrawTarget::stderr_with_hz(5)
    } else {
        ProgressDrawTarget::hidden()
    };
    let template = match full {
        Some(_) => "{prefix}: {percent:>3} % {bar:24} {msg}, {elapsed}, {eta} to go",
        None => "{prefix}: {msg} {elapsed}",
    };
    let bar = ProgressBar::with_draw_target(full, target);
    if let Ok(style) = ProgressStyle::with_template(template) {
        bar.set_style(style.progress_chars("=> "));
    }
    bar.with_prefix(binwright_catalog::shown::shown(what).into_owned())
}

/// Says what one file brought.
pub fn render(say: &mut Say, done: &Imported) {
    if say.form == Form::Plain {
        let counts = [done.added, done.changed, done.unchanged, done.rejected];
        let counts = counts.map(|count| count.to_string());
        let [added, changed, unchanged, rejected] = &counts;
        say.fields(&[&done.file, &done.table, added, changed, unchanged, rejected]);
        return;
    }
    let tried = if done.dry_run { " (dry run: nothing was kept)" } else { "" };
    say.heading(format!(
        "{}: {}, {} added, {} changed, {} unchanged, {} rejected{tried}",
        done.file, done.table, done.added, done.changed, done.unchanged, done.rejected
    ));
    let between = match done.separator.as_str() {
        "," => "commas",
        ";" => "semicolons",
        "|" => "bars",
        _ => "tabs",
    };
    say.line(format!(
        "     read as {}, {between} between fields, decimal {}",
        done.encoding, done.decimal
    ));
    if !done.ignored.is_empty() {
        say.line(format!("     columns left out of account: {}", done.ignored.join(", ")));
    }
    for reject in &done.rejects {
        let place = if reject.row == reject.line {
            format!("row {}", reject.row)
        } else {
            format!("row {} (line {})", reject.row, reject.line)
        };
        let column = if reject.column.is_empty() {
            String::new()
        } else {
            format!(", column `{}`, `{}`", reject.column, reject.value)
        };
        say.line(format!("     {place}{column}: {}", reject.reason));
        if !reject.would_be_right.is_empty() {
            say.line(format!("         {}", reject.would_be_right));
        }
    }
    if done.rejected > done.rejects.len() as u64 {
        say.line(format!("     and {} more", done.rejected - done.rejects.len() as u64));
    }
    for warning in &done.warnings {
        say.line(format!("     look at {warning}"));
    }
    if let Some(file) = &done.rejects_file {
        say.line(format!("     mend the rejected rows in {file} and import it the same way"));
    }
}
