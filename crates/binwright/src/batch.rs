//! How are many questions answered in one go? JSON lines in, JSON lines out, in the same order.

use std::fs::File;
use std::io::{self, BufRead, BufReader, BufWriter, Write};
use std::path::Path;

use binwright_shop::{Asked, Shop, ShopError};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

use crate::act::{Done, Failure};
use crate::args::FitArgs;

/// The fewest candidates a batch answers with, where there are as many.
const CANDIDATES_MIN: usize = 10;

/// What a line that could not be answered says.
#[derive(Debug, Serialize)]
struct Refused {
    id: Option<String>,
    line: usize,
    error: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    hint: Option<String>,
}

/// Says which part each removed one of `file` may be.
///
/// # Errors
///
/// As [`each`].
pub fn run(file: &Path, args: &FitArgs, shop: &mut Shop) -> Result<Done, Failure> {
    each(file, |mut asked: Asked| {
        asked.sd_mm = asked.sd_mm.or(args.sd_mm);
        shop.fit(&asked, args.limit.max(CANDIDATES_MIN))
    })
}

/// Answers the questions of `file` (`-` is standard input) one by one. A line that cannot be read
/// is answered with its error, and the others go on.
///
/// # Errors
///
/// [`Failure`] when the file cannot be read or the answers not written.
pub fn each<Q: DeserializeOwned, A: Serialize>(
    file: &Path,
    mut answer: impl FnMut(Q) -> Result<A, ShopError>,
) -> Result<Done, Failure> {
    let unreadable = |source| ShopError::Unreadable { path: file.to_owned(), source };
    let input: Box<dyn BufRead> = if file == Path::new("-") {
        Box::new(io::stdin().lock())
    } else {
        Box::new(BufReader::new(File::open(file).map_err(unreadable)?))
    };
    let mut out = BufWriter::new(io::stdout().lock());
    let mut done = Done::Well;
    for (at, line) in input.lines().enumerate() {
        let line = line.map_err(unreadable)?;
        if line.trim().is_empty() {
            continue;
        }
        let answered = read(&line).and_then(|(id, asked)| {
            let found = answer(asked).map_err(|error| (id.clone(), Box::new(error)))?;
            serde_json::to_string(&found).map_err(|error| (id, Box::new(question(&error))))
        });
        let written = match answered {
            Ok(text) => writeln!(out, "{text}"),
            Err((id, error)) => {
                done = Done::Nothing;
                let hint = error.hint();
                let refused = Refused { id, line: at + 1, error: error.to_string(), hint };
                writeln!(out, "{}", serde_json::to_string(&refused)?)
            }
        };
        match written {
            Err(error) if error.kind() == io::ErrorKind::BrokenPipe => return Ok(done),
            other => other?,
        }
    }
    match out.flush() {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(error.into()),
        _ => Ok(done),
    }
}

/// The asker's own name for a question that could not be answered, and why.
type Unanswered = (Option<String>, Box<ShopError>);

/// The asker's own name for the question, and the question.
fn read<Q: DeserializeOwned>(line: &str) -> Result<(Option<String>, Q), Unanswered> {
    let json: Value =
        serde_json::from_str(line).map_err(|error| (None, Box::new(question(&error))))?;
    let id = json.get("id").and_then(Value::as_str).map(str::to_owned);
    let asked =
        serde_json::from_value(json).map_err(|error| (id.clone(), Box::new(question(&error))))?;
    Ok((id, asked))
}

fn question(error: &serde_json::Error) -> ShopError {
    ShopError::Question { message: error.to_string() }
}
