//! What do the commands about a shop's server do?

use super::{Done, Failure, answer, open_behind};
use crate::args::ShareArgs;
use crate::places::Places;
use crate::render::server as render;
use crate::say::Say;

pub fn share(args: &ShareArgs, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    let count = open_behind(places)?.share_own_files(&args.folder)?;
    say.line(format!("{count} files are every desk's from its next start on"));
    Ok(Done::Well)
}

pub fn roles(places: &Places, say: &mut Say) -> Result<Done, Failure> {
    let roles = open_behind(places)?.put_roles()?;
    answer(say, &roles, |say| render::roles(say, &roles))?;
    Ok(Done::Well)
}
