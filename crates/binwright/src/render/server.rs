//! How does what is said of a shop's server read?

use binwright_shop::server::RoleLine;

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
