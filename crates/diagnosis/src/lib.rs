//! What is wrong with this unit, and which roles does it call for?
//!
//! Start at [`diagnose`]: a job (machine, voltage, readings) goes in, findings, the next check and
//! the call for parts come out. What is known of faults and checks is data ([`Faults`]), built in and
//! laid over by a shop's own files. Pure: the caller reads files and keeps the jobs.

mod ask;
mod calls;
mod diagnose;
pub mod electrical;
mod error;
mod file;
mod findings;
mod hypotheses;
mod items;
mod learn;
mod reading;
mod table;

pub use ask::{NextCheck, Stop};
pub use calls::{Call, Calls, Work};
pub use diagnose::{Diagnosis, Indistinct, Job, diagnose};
pub use error::DiagnosisError;
pub use file::Faults;
pub use findings::{Explanation, Finding, OUTSIDE, Reason};
pub use learn::{ClosedJob, Learnt};
pub use reading::{Explained, Reading, Value};
pub use table::{
    Bond, Check, Closing, Consumable, Fault, FaultKind, Form, Level, Outcome, Scale, Table, Want,
};
