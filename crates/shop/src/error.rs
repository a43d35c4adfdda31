//! What can go wrong in a shop, and what would be right?

use std::error::Error;
use std::path::PathBuf;

use binwright_catalog::kind::{KindError, ValueError};
use binwright_catalog::layout::LayoutError;
use binwright_catalog::money::MoneyError;
use binwright_catalog::{Kind, Kinds, Money, Quantity, suggest};

/// What can go wrong in a shop.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "the message says what the fields are")]
pub enum ShopError {
    #[error("kind `{found}` is not known")]
    UnknownKind { found: String, like: Option<String> },
    #[error("`{found}` is not a measure of {kind}")]
    UnknownMeasure { found: String, kind: String, like: Option<String> },
    #[error("no kind has all of these: {measures}")]
    NoSuchKind { measures: String },
    #[error("`{found}` is not written measure=value")]
    NotAMeasure { found: String },
    #[error("`{measure}` was given twice")]
    MeasuredTwice { measure: String },
    #[error("`{found}` is no length: {measure} is more than nothing")]
    NoLength { measure: String, found: String },
    #[error("nothing was measured")]
    NothingMeasured,
    #[error("role `{found}` is not known")]
    UnknownRole { found: String },
    #[error("a point at {x_mm}, {y_mm} mm is out of reach")]
    TooFar { x_mm: f64, y_mm: f64 },
    #[error("no part or unit has the number `{found}`")]
    NoSuchNumber { found: String },
    #[error("the question cannot be read: {message}")]
    Question { message: String },
    #[error("`{}` cannot be read", path.display())]
    Unreadable { path: PathBuf, source: std::io::Error },
    #[error("`{}` cannot be written", path.display())]
    Unwritable { path: PathBuf, source: std::io::Error },
    #[error("`{}` is there already", path.display())]
    IsThere { path: PathBuf },
    #[error(transparent)]
    Value(#[from] ValueError),
    #[error(transparent)]
    Layout(#[from] LayoutError),
    #[error(transparent)]
    Kinds(#[from] KindError),
    #[error(transparent)]
    Fit(#[from] binwright_fit::FitError),
    #[error(transparent)]
    Store(#[from] binwright_store::StoreError),
    #[error(transparent)]
    Index(#[from] binwright_index::IndexError),
    #[error(transparent)]
    Exchange(#[from] binwright_exchange::ExchangeError),
    #[error("{file}, line {line}: {message}")]
    Settings { file: String, line: usize, message: String },
    #[error(transparent)]
    Money(#[from] MoneyError),
    #[error(transparent)]
    Diagnosis(#[from] binwright_diagnosis::DiagnosisError),
    #[error(transparent)]
    Buying(#[from] binwright_buying::BuyingError),
    #[error(transparent)]
    Machine(#[from] binwright_catalog::unit::MachineError),
    #[error("alternator or starter?")]
    NoMachine,
    #[error("there is no cover `{found}`")]
    NoSuchCover { found: String, there: String },
    #[error("the closing test is not passed: {}", closing_words(missing, bad))]
    ClosingTest { missing: Vec<String>, bad: Vec<String>, how: String, caution: String },
    #[error("which fault was truly found is not said")]
    NoFaultNamed { machine: binwright_catalog::Machine },
    #[error("`{found}` is not written role=number")]
    NotAPart { found: String },
    #[error("no unit has the number `{found}`")]
    NoSuchUnit { found: String },
    #[error("unit `{unit}` is {is}, not {machine}")]
    OtherMachine {
        unit: String,
        is: binwright_catalog::Machine,
        machine: binwright_catalog::Machine,
    },
    #[error(transparent)]
    Quoting(#[from] binwright_quoting::QuotingError),
    #[error("a core is not sold as it is")]
    CoreForSale,
    #[error("a core is not good before it was tested")]
    Untested,
    #[error("what is {from} does not become {into}")]
    NoRegrade { from: binwright_catalog::Condition, into: binwright_catalog::Condition },
    #[error("{day} is past")]
    PastDay { day: jiff::civil::Date },
    #[error("of sheet {sheet} {}", not_counted_words(*lines))]
    NotCounted { sheet: i64, lines: usize },
    #[error("row {row} of the count: {message}")]
    CountRow { row: usize, message: String },
    #[error("`{found}` is no class of the settings")]
    NoSuchClass { found: String, known: Vec<String> },
    #[error("{first} and {other} are for different customers or units")]
    NotOneJob { first: String, other: String },
    #[error("`{number}` has no layout")]
    NoLayout { number: String },
    #[error("`{found}` is no label sheet")]
    NoSuchLabelSheet { found: String, known: Vec<String> },
    #[error(transparent)]
    Print(#[from] binwright_print::PrintError),
    #[error("the sheet cannot be written")]
    Csv(#[from] csv::Error),
    #[error("{came} x {part} came on line {line}; still to come: {outstanding}")]
    MoreThanOrdered { line: u32, part: String, came: Quantity, outstanding: Quantity },
    #[error("{each} each for {part} on line {line} is far from the {ordered} it was ordered at")]
    FarPrice { line: u32, part: String, each: Money, ordered: Money },
    #[error("`{found}` is not the name of an order")]
    NoSuchOrder { found: String },
    #[error("`{found}` is no {wanted}")]
    NotReadAs { found: String, wanted: &'static str, hint: &'static str },
    #[error(transparent)]
    Basket(#[from] binwright_buying::basket::BasketError),
}

impl ShopError {
    /// Whether the shop's server asks for a password that nobody has given.
    pub fn wants_password(&self) -> bool {
        matches!(self, Self::Store(binwright_store::StoreError::PasswordWanted { .. }))
    }

    /// Whether the shop's server is out of reach; nothing of the step was kept then.
    pub fn is_out_of_reach(&self) -> bool {
        matches!(self, Self::Store(binwright_store::StoreError::OutOfReach { .. }))
    }

    /// The kind is not known; names the nearest.
    pub fn unknown_kind(word: &str, kinds: &Kinds) -> Self {
        let keys = kinds.iter().flat_map(|kind| {
            std::iter::once(kind.key.as_str()).chain(kind.words.iter().map(String::as_str))
        });
        Self::UnknownKind {
            found: word.to_owned(),
            like: suggest::nearest(word, keys).map(str::to_owned),
        }
    }

    /// The measure is none of the kind's; names the nearest.
    pub(crate) fn unknown_measure(word: &str, kind: &Kind) -> Self {
        let keys = kind.measures.iter().flat_map(|measure| {
            std::iter::once(measure.key.as_str()).chain(measure.words.iter().map(String::as_str))
        });
        Self::UnknownMeasure {
            found: word.to_owned(),
            kind: kind.key.clone(),
            like: suggest::nearest(word, keys).map(str::to_owned),
        }
    }

    /// What would be right, to stand under the message; `None` when the message says it all.
    pub fn hint(&self) -> Option<String> {
        match self {
            Self::UnknownKind { like, .. } => Some(match like {
                Some(like) => format!("Did you mean `{like}`? `binwright kinds` lists them all."),
                None => "`binwright kinds` lists them all.".to_owned(),
            }),
            Self::UnknownMeasure { kind, like, .. } => Some(match like {
                Some(like) => {
                    format!("Did you mean `{like}`? `binwright kinds {kind}` lists them.")
                }
                None => format!("`binwright kinds {kind}` lists them."),
            }),
            Self::NoSuchKind { .. } => {
                Some("Name the kind first; `binwright kinds` lists them.".to_owned())
            }
            Self::NotAMeasure { .. } => Some("Write outline_od=112.3.".to_owned()),
            Self::MoreThanOrdered { .. } | Self::FarPrice { .. } => {
                Some("Nothing was taken in; if the delivery note says so, add --sure.".to_owned())
            }
            Self::NoLength { .. } => Some("Read it again; lengths are above 0 mm.".to_owned()),
            Self::NotCounted { .. } => Some(
                "Count them, or add --partly: there the book stays as it is, and the sheet closes."
                    .to_owned(),
            ),
            Self::NothingMeasured => {
                Some("Give at least one measure=value, --layout or --distances.".to_owned())
            }
            Self::UnknownRole { .. } => {
                Some("The roles are hole, stud, lead, plug and diode.".to_owned())
            }
            Self::NoSuchNumber { .. } => {
                Some("`binwright find` also finds what is worn or mistyped.".to_owned())
            }
            Self::IsThere { .. } => Some("Choose another name, or add --force.".to_owned()),
            Self::Money(error) => error.hint().map(str::to_owned),
            Self::Value(error) => error.hint().map(str::to_owned),
            Self::Layout(error) => error.hint().map(str::to_owned),
            Self::Store(error) => error.hint().map(str::to_owned),
            Self::Index(error) => Some(error.hint().to_owned()),
            Self::Exchange(error) => error.hint(),
            Self::NoMachine => {
                Some("Name the machine first, or its number with --unit.".to_owned())
            }
            Self::NoSuchCover { there, .. } if there.contains('1') => {
                Some(format!("There are {there}."))
            }
            Self::NoSuchCover { there, .. } => Some(no_repair(there)),
            Self::NoFaultNamed { machine } => Some(format!(
                "Add --fault FAULT, the next job learns from it: `binwright bench faults {machine}` \
                 lists them. When it was not found out, add --fault unknown: it teaches nothing."
            )),
            Self::ClosingTest { how, caution, .. } => Some(format!(
                "{how} CAUTION {caution} To close it all the same say why with --anyway."
            )),
            Self::NotAPart { .. } => Some("Write rectifier=RP-1107C.".to_owned()),
            Self::NoSuchUnit { .. } => Some(
                "Leave --unit out, and name parts with --part or measures with --fit.".to_owned(),
            ),
            Self::Diagnosis(error) => error.hint(),
            Self::NotOneJob { .. } => Some("Print each for itself.".to_owned()),
            Self::NoLayout { .. } => {
                Some("Give the card its points, then it can be drawn.".to_owned())
            }
            Self::NoSuchLabelSheet { known, .. } => {
                Some(format!("The sheets are {}.", known.join(", ")))
            }
            Self::Print(error) => error.hint().map(str::to_owned),
            Self::Buying(error) => error.hint().map(str::to_owned),
            Self::Basket(error) => error.hint().map(str::to_owned),
            Self::NoSuchOrder { .. } => Some("`order list` names them: O-12.".to_owned()),
            Self::Quoting(error) => error.hint().map(str::to_owned),
            Self::NotReadAs { hint, .. } => Some((*hint).to_owned()),
            Self::NoSuchClass { known, .. } => Some(format!("There is {}.", known.join(", "))),
            Self::CountRow { .. } => {
                Some("A row is bin,part,condition,counted; nothing was taken in.".to_owned())
            }
            Self::CoreForSale => Some("Regrade it to used-good after its test.".to_owned()),
            Self::Untested => Some("Write the readings of its test with --readings.".to_owned()),
            _ => None,
        }
    }
}

/// How to come by a repair when only whole units, or nothing, is there to be quoted.
fn no_repair(there: &str) -> String {
    let wholes = if there.is_empty() { String::new() } else { format!("There are {there}. ") };
    format!(
        "{wholes}A repair is offered when the readings call for one and something fills it: give \
         another reading (`bench` says which check is next), or say what is to be changed with --with \
         ROLE."
    )
}

/// The causes of `error`, each that does not only repeat what stands before it.
pub fn causes(error: &dyn Error) -> Vec<String> {
    let mut causes = Vec::new();
    let mut before = error.to_string();
    let mut cause = error.source();
    while let Some(error) = cause {
        let said = error.to_string();
        if !before.contains(&said) {
            causes.push(said.clone());
        }
        before = said;
        cause = error.source();
    }
    causes
}

/// `error` with its causes, in one sentence.
pub fn in_words(error: &dyn Error) -> String {
    let all: Vec<String> = std::iter::once(error.to_string()).chain(causes(error)).collect();
    all.join(": ")
}

fn not_counted_words(lines: usize) -> String {
    if lines == 1 {
        "1 line is not counted".to_owned()
    } else {
        format!("{lines} lines are not counted")
    }
}

fn closing_words(missing: &[String], bad: &[String]) -> String {
    let mut words = bad.to_vec();
    words.extend(missing.iter().map(|check| format!("`{check}` was not read")));
    words.join("; ")
}
