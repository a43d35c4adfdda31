//! What do the commands about branches do?

use super::{Done, Failure, answer, nothing, open_behind};
use crate::args::branch::BranchAct;
use crate::places::Places;
use crate::render::branch as render;
use crate::say::Say;

pub fn branch(act: BranchAct, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    let mut shop = open_behind(places)?;
    match act {
        BranchAct::Name { name, old } => shop.name_branch(&old, &name)?,
        BranchAct::Add { name } => shop.add_branch(&name)?,
        BranchAct::Way { one, two, minutes, cost } => {
            let cost = shop.money(&cost)?;
            shop.put_branch_way(&one, &two, minutes, cost)?;
        }
        BranchAct::List => {}
    }
    let list = shop.branches()?;
    answer(say, &list, |say| render::branches(say, &list))?;
    Ok(if list.branches.is_empty() { nothing("the shop is one place") } else { Done::Well })
}
