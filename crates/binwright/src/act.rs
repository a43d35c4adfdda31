//! What does each command do? Opens the shop, asks it, hands the answer on to be said.

mod bench;
mod branch;
mod buy;
mod count;
mod orders;
mod paper;
mod quote;
mod scan;
mod server;
mod stock;

mod screens;

use std::fs;
use std::io::{self, Write};
use std::path::Path;

use binwright_catalog::standard;
use binwright_shop::age::StockAge;
use binwright_shop::counter::Card;
use binwright_shop::files::{CellStyle, Table};
use binwright_shop::{Asked, Shop, ShopError};
use clap::CommandFactory;
use jiff::ZonedDateTime;

use crate::args::{Act, CreateArgs, ExportArgs, FitArgs, Line};
use crate::password::asking;
use crate::places::Places;
use crate::say::{Form, Say};
use crate::{batch, import, render, walk};

/// How a command ended when it did not fail: the exit code.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Done {
    /// It is done.
    Well = 0,
    /// Nothing was found, or a check found trouble.
    Nothing = 1,
    /// Done, but some rows were rejected.
    SomeRejected = 3,
}

/// Why a command could not.
#[derive(Debug, thiserror::Error)]
#[allow(missing_docs, reason = "the message says what the fields are")]
pub enum Failure {
    #[error(transparent)]
    Shop(Box<ShopError>),
    #[error("the answer cannot be written")]
    Output(#[from] io::Error),
    #[error("the answer cannot be written as JSON")]
    Json(#[from] serde_json::Error),
    #[error(transparent)]
    Home(#[from] etcetera::HomeDirError),
    #[error("`{found}` is no {wanted}")]
    Option { found: String, wanted: &'static str, hint: String },
    #[error(transparent)]
    Screens(#[from] binwright_tui::TuiError),
    #[error("the folder `{folder}` is not empty")]
    NotEmpty { folder: String },
}

impl From<ShopError> for Failure {
    fn from(error: ShopError) -> Self {
        Self::Shop(Box::new(error))
    }
}

impl Failure {
    /// Whether the shop's server was out of reach, so that nothing of the command was kept.
    pub fn is_out_of_reach(&self) -> bool {
        matches!(self, Self::Shop(error) if error.is_out_of_reach())
    }

    /// What would be right, to stand under the message.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::Shop(error) => error.hint(),
            Self::Option { hint, .. } => Some(hint.clone()),
            Self::NotEmpty { .. } => Some("Name a new folder.".to_owned()),
            Self::Screens(error) => error.hint(),
            Self::Home(_) => Some("Name the shop's folder with --shop.".to_owned()),
            Self::Output(_) | Self::Json(_) => None,
        }
    }
}

/// Does what the command line says.
///
/// # Errors
///
/// [`Failure`] when it could not.
pub fn run(line: Line, say: &mut Say) -> Result<Done, Failure> {
    let places = Places::find(line.shop, line.branch)?;
    let Some(act) = line.act else {
        return screens::open(&places, line.screens, line.colour);
    };
    match act {
        Act::Demo(args) => walk::demo(&args, say),
        Act::Create(args) => create(&args, &places, say),
        Act::Import(args) => import::run(&args, &places, say),
        Act::Export(args) => export(&args, &places, say),
        Act::Fit(args) => fit(&args, &places, say),
        Act::Buy(act) => buy::buy(act, &places, say),
        Act::Paper(act) => paper::paper(act, &places, say),
        Act::Quote(act) => quote::run(&act, &places, say),
        Act::Bench(args) => bench::run(&args, &places, say),
        Act::Find(args) => {
            let found = open(&places)?.find(&args.text.join(" "), args.limit)?;
            answer(say, &found, |say| render::found(say, &found))?;
            aged(say, found.stock_as_of.as_ref());
            let empty = found.hits.is_empty() && found.standard.is_empty();
            Ok(if empty { nothing("nothing found") } else { Done::Well })
        }
        Act::Show(args) => show(&args.number, &places, say),
        Act::Kinds(args) => kinds(args.kind.as_deref(), &places, say),
        Act::Standard(args) => {
            let lines = standard::explain(&args.words.join(" "));
            answer(say, &lines, |say| lines.iter().for_each(|line| say.line(line)))?;
            Ok(if lines.is_empty() { nothing("no standard knows that") } else { Done::Well })
        }
        Act::Index(args) => {
            let mut shop = open_behind(&places)?;
            if args.rebuild {
                shop.rebuild()?;
            } else {
                shop.follow()?;
            }
            say.line(format!("{} parts can be looked up", shop.parts()));
            Ok(Done::Well)
        }
        Act::Stock(act) => stock::stock(act, &places, say),
        Act::Branch(act) => branch::branch(act, &places, say),
        Act::Hold(act) => stock::hold(act, &places, say),
        Act::Count(act) => count::count(act, &places, say),
        Act::Cores(act) => count::cores(act, &places, say),
        Act::Order(act) => orders::order(act, &places, say),
        Act::Report(act) => orders::report(&act, &places, say),
        Act::Backup(args) => stock::backup(&args, &places, say),
        Act::Restore(args) => stock::bring_back(&args, say),
        Act::Copy(args) => server::copy(args, &places, say),
        Act::Share(args) => server::share(&args, &places, say),
        Act::Roles => server::roles(&places, say),
        Act::Check => check(&places, say),
        Act::Paths => {
            say.fields(&["shop", &places.shop.to_string()]);
            say.fields(&["index", &places.cache.display().to_string()]);
            say.fields(&["keys", &places.keys.display().to_string()]);
            Ok(Done::Well)
        }
        Act::Completions { shell } => {
            let mut text = Vec::new();
            clap_complete::generate(shell, &mut Line::command(), "binwright", &mut text);
            raw(&text)
        }
        Act::Manual => {
            let mut text = Vec::new();
            manual(&mut text)?;
            raw(&text)
        }
    }
}

/// The day it is here.
pub fn today() -> jiff::civil::Date {
    ZonedDateTime::now().date()
}

/// Opens the shop the command line names.
pub fn open(places: &Places) -> Result<Shop, ShopError> {
    asking(&places.shop, |place| places.standing(Shop::open(place, &places.cache, today())?))
}

/// Opens it for work that looks nothing up in the index.
pub fn open_behind(places: &Places) -> Result<Shop, ShopError> {
    asking(&places.shop, |place| places.standing(Shop::open_behind(place, &places.cache, today())?))
}

/// Says `value` as JSON, or lets `render` say it.
pub fn answer(
    say: &mut Say,
    value: &impl serde::Serialize,
    render: impl FnOnce(&mut Say),
) -> Result<(), Failure> {
    if say.form == Form::Json {
        say.json(value)?;
    } else {
        render(say);
    }
    Ok(())
}

/// Says how old the stock figures of an answer are, where the server could not be asked. In JSON it
/// stands in the answer.
fn aged(say: &mut Say, age: Option<&StockAge>) {
    let Some(age) = age.filter(|age| age.server_out_of_reach) else { return };
    let words = format!("{}: the server is out of reach", age.words());
    match say.form {
        Form::Text => say.line(words),
        // Its lines are for programs.
        Form::Plain => drop(writeln!(io::stderr(), "{words}")),
        Form::Json => {}
    }
}

fn nothing(what: &str) -> Done {
    let _ = writeln!(io::stderr(), "{what}");
    Done::Nothing
}

/// Writes text of our own making as it is.
fn raw(text: &[u8]) -> Result<Done, Failure> {
    match io::stdout().write_all(text) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => Err(error.into()),
        _ => Ok(Done::Well),
    }
}

/// The manual page of the command, then of every subcommand, in one roff text.
fn manual(out: &mut Vec<u8>) -> io::Result<()> {
    let mut command = Line::command();
    command.build();
    clap_mangen::Man::new(command.clone()).render(out)?;
    for part in command.get_subcommands() {
        clap_mangen::Man::new(part.clone()).render(out)?;
    }
    screens::manual(out)
}

fn create(args: &CreateArgs, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    let currency = args.currency.parse().map_err(|_| Failure::Option {
        found: args.currency.clone(),
        wanted: "currency",
        hint: "Use the three letters of ISO 4217: EUR, USD, JPY.".to_owned(),
    })?;
    asking(&places.shop, |place| {
        Shop::create(place, &places.cache, today(), &args.name, currency)
    })?;
    say.line(format!("{} is open in {}", args.name, places.shop));
    Ok(Done::Well)
}

/// The table a word names.
pub fn table(word: &str) -> Result<Table, Failure> {
    word.parse().map_err(|error: binwright_shop::files::TableError| Failure::Option {
        found: word.to_owned(),
        wanted: "table",
        hint: error.hint(),
    })
}

fn export(args: &ExportArgs, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    let table = table(&args.table)?;
    let style = if args.for_spreadsheet { CellStyle::Defused } else { CellStyle::Exact };
    let shop = open(places)?;
    if args.file == Path::new("-") {
        let mut text = Vec::new();
        shop.export(table, &mut text, false, style)?;
        return raw(&text);
    }
    shop.export_file(table, &args.file, style, args.force)?;
    say.line(format!("{table} written to {}", args.file.display()));
    Ok(Done::Well)
}

fn fit(args: &FitArgs, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    if let Some(file) = &args.batch {
        return batch::run(file, args, &mut open(places)?);
    }
    let mut asked = Asked::from_words(&args.words)?;
    asked.layout.clone_from(&args.layout);
    asked.distances.clone_from(&args.distances);
    asked.sd_mm = args.sd_mm;
    let found = open(places)?.fit(&asked, args.limit)?;
    answer(say, &found, |say| render::fit_answer(say, &found))?;
    aged(say, found.stock_as_of.as_ref());
    Ok(if found.candidates.is_empty() { Done::Nothing } else { Done::Well })
}

fn show(number: &str, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    match open(places)?.card(number)? {
        Card::Parts(cards) => {
            answer(say, &cards, |say| cards.iter().for_each(|card| render::part_card(say, card)))?;
            aged(say, cards.first().and_then(|card| card.stock_as_of.as_ref()));
        }
        Card::Unit(card) => {
            answer(say, &card, |say| render::unit_card(say, &card))?;
            aged(say, card.stock_as_of.as_ref());
        }
    }
    Ok(Done::Well)
}

fn kinds(word: Option<&str>, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    // The built-in kinds are there without a shop; a shop's own need the shop.
    let kinds = if places.shop.may_be_a_shop() {
        open(places)?.kinds().clone()
    } else {
        binwright_catalog::Kinds::builtin().map_err(ShopError::from)?
    };
    let Some(word) = word else {
        let named: Vec<[&str; 2]> =
            kinds.iter().map(|kind| [kind.key.as_str(), kind.label.as_str()]).collect();
        answer(say, &named, |say| match say.form {
            Form::Plain => named.iter().for_each(|fields| say.fields(fields)),
            _ => named.iter().for_each(|[key, label]| say.line(format!("{key:<30} {label}"))),
        })?;
        return Ok(Done::Well);
    };
    let kind = kinds.get(word).ok_or_else(|| ShopError::unknown_kind(word, &kinds))?;
    answer(say, kind, |say| render::kind_card(say, kind))?;
    Ok(Done::Well)
}

fn check(places: &Places, say: &mut Say) -> Result<Done, Failure> {
    let shop = open(places)?;
    let troubles = shop.check()?;
    answer(say, &troubles, |say| {
        if troubles.is_empty() {
            say.line("store, ledger, balances, holds and index are sound");
        }
        troubles.iter().for_each(|trouble| say.line(trouble));
    })?;
    Ok(if troubles.is_empty() { Done::Well } else { Done::Nothing })
}

/// Whether `folder` is missing or holds nothing.
pub fn is_empty(folder: &Path) -> bool {
    fs::read_dir(folder).map_or(true, |mut entries| entries.next().is_none())
}
