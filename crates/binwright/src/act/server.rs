//! What do the commands about a shop's server do?

use binwright_shop::server;

use super::{Done, Failure, answer, open_behind, today};
use crate::args::{CopyArgs, ShareArgs};
use crate::import::bar;
use crate::password::asking;
use crate::places::Places;
use crate::render::server as render;
use crate::say::Say;

pub fn copy(args: CopyArgs, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    let to = Places::find(Some(args.to), None, false)?.shop;
    let bar = bar("copy", None);
    let copied = asking(&places.shop, |from| {
        asking(&to, |to| {
            server::copy(&from, &to, today(), |table, rows| {
                bar.set_message(format!("{rows} rows of {table}"));
                bar.tick();
            })
        })
    });
    bar.finish_and_clear();
    let copied = copied?;
    answer(say, &copied, |say| render::copied(say, &copied))?;
    Ok(Done::Well)
}

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
