//! How does what is said of a shop's server read?

use binwright_shop::server::{CopiedShop, RoleLine};

use crate::say::{Form, Say};

/// Adds the roles and who has them.
pub fn roles(say: &mut Say, roles: &[RoleLine]) {
    let width = roles.iter().map(|line| line.name.len()).max().unwrap_or(0);
    for RoleLine { role, name, held_by } in roles {
        let held_by = held_by.join(", ");
        if say.form == Form::Plain {
            say.fields(&[*role, name, &held_by]);
        } else {
            let held_by = if held_by.is_empty() { "nobody has it" } else { &held_by };
            say.line(format!("{role:<7}  {name:<width$}  {held_by}"));
        }
    }
}

/// Adds what was copied, and how the ledgers end.
pub fn copied(say: &mut Say, copied: &CopiedShop) {
    let plain = say.form == Form::Plain;
    if plain {
        say.fields(&["copied", &copied.place, &copied.rows.to_string()]);
    } else {
        say.line(format!("copied to {}: {} rows, every one compared", copied.place, copied.rows));
    }
    for end in copied.ledgers.iter().filter(|end| plain || !end.hash.is_empty()) {
        if plain {
            say.fields(&["ledger", &end.branch, &end.hash]);
        } else {
            let of = if end.branch.is_empty() { "" } else { " of " };
            say.line(format!("the ledger{of}{} ends in {} on both", end.branch, end.hash));
        }
    }
}
