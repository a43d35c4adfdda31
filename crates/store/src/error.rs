//! What can go wrong in the store, and what is the way out?

use std::path::PathBuf;

use binwright_catalog::{Currency, Money, Quantity};
use jiff::Timestamp;

use crate::near::on_the_clock;

use crate::Whose;

/// What can go wrong in the store.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "the message says what the fields are")]
pub enum StoreError {
    #[error("`{}` is not a shop", dir.display())]
    NotAShop { dir: PathBuf },
    #[error("`{}` is a shop already", dir.display())]
    IsAShop { dir: PathBuf },
    #[error(
        "the shop was written by a newer program (store version {found}; this one knows {known})"
    )]
    TooNew { found: u32, known: u32 },
    #[error("the store is locked by another program")]
    Locked,
    #[error("the disk is full; nothing of this step was kept")]
    Full,
    #[error("`{}` can only be read, and its last movements are not in its file yet", dir.display())]
    Unsettled { dir: PathBuf },
    #[error("the store can only be read")]
    ReadOnly,
    #[error("the store is damaged: {what}")]
    Damaged { what: String },
    #[error("no part has the number `{number}`")]
    NoSuchPart { number: String },
    #[error("number `{number}` belongs to {}", houses.join(", "))]
    ManyParts { number: String, houses: Vec<String> },
    #[error("no unit has the number `{number}`")]
    NoSuchUnit { number: String },
    #[error("there is no bin `{bin}`")]
    NoSuchBin { bin: String },
    #[error("there is no branch `{name}`")]
    NoSuchBranch { name: String },
    #[error("the branch that is there has no name yet")]
    BranchUnnamed,
    #[error("another branch is called `{name}`")]
    BranchTaken { name: String },
    #[error("both are of branch `{branch}`")]
    SameBranch { branch: String },
    #[error("stock moved in `{bin}`, which is another branch's")]
    BinIsUsed { bin: String },
    #[error("{left} of transfer {transfer} are on their way")]
    NotOnItsWay { transfer: i64, left: Quantity },
    #[error("transfer {transfer} was sent to another branch")]
    OtherBranch { transfer: i64 },
    #[error("of transfer {transfer} something has come")]
    HasCome { transfer: i64 },
    #[error("movement {seq} took a transfer back")]
    TransferTakenBack { seq: i64 },
    #[error("`{number}` has no letter or digit")]
    EmptyNumber { number: String },
    #[error("`{number}` cannot cross to itself")]
    CrossToItself { number: String },
    #[error("{kind} would close a loop: {}", numbers.join(" > "))]
    CrossLoop { kind: &'static str, numbers: Vec<String> },
    #[error("measure `{measure}` of `{number}` is not a finite number")]
    NotFinite { number: String, measure: String },
    #[error("short by {short}: {free} free, {asked} asked for")]
    Short { free: Quantity, asked: Quantity, short: Quantity },
    #[error("only {noted} were noted as lost in {month}")]
    NeverAsked { noted: Quantity, month: String },
    #[error("a quantity of nothing")]
    Nothing,
    #[error("stock does not go that way by `{reason}`")]
    WrongWay { reason: &'static str },
    #[error("what is moved out and what is moved in differ")]
    Lopsided,
    #[error("the quantity is too large")]
    TooLarge,
    #[error("there is no movement {seq}")]
    NoSuchMovement { seq: i64 },
    #[error("movement {seq} has been undone already")]
    UndoneAlready { seq: i64 },
    #[error("the key `{key}` stands on other movements, posted as {posting}")]
    KeyTaken { key: String, posting: i64 },
    #[error("a cost in {found}, where the shop counts in {shop}")]
    OtherCurrency { found: Currency, shop: Currency },
    #[error("a cost below nothing")]
    NegativeCost,
    #[error("`{number}` is no kit: it contains nothing")]
    NotAKit { number: String },
    #[error("`{kits}` of `{number}` cannot be told in thousandths of its parts")]
    TooFine { number: String, kits: Quantity },
    #[error("in `{}` a copy of a shop was begun and not finished", dir.display())]
    Unfinished { dir: PathBuf },
    #[error("in `{}` a copy of another shop was begun", dir.display())]
    OtherCopy { dir: PathBuf },
    #[error("the copy's table `{table}` is not as the shop's")]
    Unlike { table: &'static str },
    #[error("the folder `{}` is not empty", dir.display())]
    NotEmpty { dir: PathBuf },
    #[error("`{}` is there already", path.display())]
    IsThere { path: PathBuf },
    #[error("there is nothing to count")]
    NothingToCount,
    #[error("there is no count sheet {sheet}")]
    NoSuchSheet { sheet: i64 },
    #[error("count sheet {sheet} is closed")]
    SheetClosed { sheet: i64 },
    #[error("`{part}` in `{bin}` differs by so much that it is to be counted again")]
    Recount { part: String, bin: String },
    #[error("corrections worth {worth} are more than one person posts alone ({above})")]
    SecondNeeded { worth: Money, above: Money },
    #[error("`{quantity}` of debt {debt} are not owed")]
    CoreNotOwed { debt: i64, quantity: Quantity },
    #[error("there is no quote `{number}`")]
    NoSuchQuote { number: String },
    #[error("`{number}` is {state}, and that takes one that is {wanted}")]
    QuoteState { number: String, state: &'static str, wanted: String },
    #[error("`{number}` was valid until {until}")]
    QuoteLapsed { number: String, until: jiff::civil::Date },
    #[error("{short} of `{part}` are not here yet")]
    QuoteShort { part: String, short: Quantity },
    #[error("hold {hold} is not open")]
    HoldNotOpen { hold: i64 },
    #[error("there is no supplier `{name}`")]
    NoSuchSupplier { name: String },
    #[error("`{of}`: {what}")]
    Terms { of: String, what: &'static str },
    #[error("there is no order {order}")]
    NoSuchOrder { order: i64 },
    #[error("order {order} has no line {line}")]
    NoSuchLine { order: i64, line: u32 },
    #[error("order {order} is {state}")]
    OrderIs { order: i64, state: &'static str },
    #[error("`{}`: {source}", path.display())]
    File { path: PathBuf, source: std::io::Error },
    #[error("the address of the shop's server cannot be read: {what}")]
    Address { what: &'static str },
    #[error("a password does not stand in the address of a shop")]
    PasswordInAddress,
    #[error("`{}` may be read by others", path.display())]
    OpenPasswordFile { path: PathBuf },
    #[error("{place} asks for a password")]
    PasswordWanted { place: String },
    #[error("{place} does not take this user with this password")]
    Refused { place: String },
    #[error("{place} is out of reach{}", since.map_or_else(String::new, |at| format!(" since {}", on_the_clock(at))))]
    OutOfReach {
        place: String,
        since: Option<Timestamp>,
        source: Box<dyn std::error::Error + Send + Sync>,
    },
    #[error("the line was lost while the step was kept, and nobody answers whether it was")]
    Unsure,
    #[error("`{user}` may not {what}; {whose}")]
    NotAllowed { user: String, what: &'static str, whose: Whose },
    #[error("the shop is of store version {found}, and this program works with {known}")]
    TooOld { found: u32, known: u32 },
    #[error("the shop is on a server, and there is no file of it to copy")]
    OnServer,
    #[error("the shop lies in a folder, and what is its own lies beside it there")]
    InFolder,
    #[error("the store failed")]
    Engine(#[source] Box<dyn std::error::Error + Send + Sync>),
}

impl StoreError {
    /// The way out, to stand under the message; `None` when the message says it all.
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            Self::NotAShop { .. } => Some("Make one with `create`, or name another with --shop."),
            Self::IsAShop { .. } => Some("Use it as it is, or name an empty folder."),
            Self::Unfinished { .. } => {
                Some("Go on with it: `copy` again, from the same shop to the same place.")
            }
            Self::OtherCopy { .. } => Some("Name an empty place, or go on from that shop."),
            Self::Unlike { .. } => {
                Some("The shop went on since the copy was begun. Copy it anew, to an empty place.")
            }
            Self::NotEmpty { .. } => Some("Name a new folder."),
            Self::IsThere { .. } => Some("Name a new file; a copy is never written over."),
            Self::TooNew { .. } => Some("Nothing was touched. Use the newer program."),
            Self::Locked => Some("Close the other program, or try again in a moment."),
            Self::Full => Some("Make room and do the step again."),
            Self::Unsettled { .. } => Some("Open it once where its folder can be written."),
            Self::ReadOnly => Some("Give yourself the right to write in the shop's folder."),
            Self::Damaged { .. } => Some("Restore the last backup into a new folder."),
            Self::ManyParts { .. } => Some("Use the house number."),
            Self::NoSuchPart { .. } => Some("Import the part first, or mend the number."),
            Self::NoSuchUnit { .. } => Some("Import the unit first, or mend the number."),
            Self::NoSuchBin { .. } => Some("Import the bin first, or mend its name."),
            Self::NoSuchBranch { .. } => Some("`branch list` names them; `branch add` makes one."),
            Self::BranchUnnamed => Some("Name it first: `branch name NAME`."),
            Self::SameBranch { .. } => Some("From bin to bin of one branch it is `stock move`."),
            Self::BinIsUsed { .. } => Some("Send its stock with `stock transfer` to a bin there."),
            Self::NotOnItsWay { .. } => Some("`stock transit` shows what is."),
            Self::OtherBranch { .. } => Some("Name a bin of the branch it was sent to."),
            Self::HasCome { .. } => Some("Undo the arrival first."),
            Self::TransferTakenBack { .. } => Some("Send it, or take it in, anew."),
            Self::CrossLoop { .. } => Some("One of these relations is the wrong way round."),
            Self::KeyTaken { .. } => Some("Use a key once; for other movements take another."),
            Self::NotAKit { .. } => Some("Import its parts as `contains` crosses."),
            Self::NoSuchSupplier { .. } => Some("Put the supplier first, or mend its name."),
            Self::OrderIs { state: "draft", .. } => Some("Send it first with `order send`."),
            Self::OrderIs { .. } => Some("What has come stays; say by line what will not come."),
            Self::Recount { .. } => Some("Count that place once more; the second count stands."),
            Self::SecondNeeded { .. } => {
                Some("Let somebody who counted nothing look, and name them with --second.")
            }
            Self::NoSuchQuote { .. } => Some("`quote list` names them."),
            Self::QuoteLapsed { .. } => Some("Revise it: today's stock and prices, a new date."),
            Self::QuoteShort { .. } => Some("Receive it into a bin first, then issue the job."),
            Self::Address { .. } => Some("It reads postgresql://user@host/database."),
            Self::PasswordInAddress | Self::PasswordWanted { .. } => {
                Some("Put it into PGPASSWORD, into ~/.pgpass, or type it when asked.")
            }
            Self::OpenPasswordFile { .. } => Some("Keep it to yourself: chmod 600."),
            Self::Refused { .. } => Some("Mend the user in the address, or the password."),
            Self::OutOfReach { .. } => {
                Some("Nothing of this step was kept. Do it again when the line is back.")
            }
            Self::Unsure => Some("Look whether it is there before you do it again."),
            Self::OnServer => Some(
                "`copy` brings it into a folder; the server has tools of its own, such as pg_dump.",
            ),
            Self::NotAllowed { .. } => {
                Some("The shop's owner sees with `roles` who has which, and gives them.")
            }
            Self::TooOld { .. } => Some(
                "Let the shop's owner open it once with this program: that brings it up to date.",
            ),
            Self::Short { .. } => Some("Take less, count the bin, or let a hold go."),
            _ => None,
        }
    }
}

impl From<serde_json::Error> for StoreError {
    fn from(error: serde_json::Error) -> Self {
        Self::Damaged { what: format!("measures of a part: {error}") }
    }
}
