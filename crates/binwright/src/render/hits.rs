//! How does a list of found parts read?

use binwright_shop::answer::Found;

use super::{stock_field, supply};
use crate::say::{Form, Say};

/// Adds what standards say and the hits, for reading or as tab-separated lines.
pub fn found(say: &mut Say, found: &Found) {
    if say.form == Form::Text {
        found.standard.iter().for_each(|line| say.line(line));
    }
    for hit in &found.hits {
        if say.form == Form::Plain {
            say.fields(&[
                &hit.number,
                &hit.matched,
                hit.how,
                &format!("{:.1}", hit.distance),
                &hit.kind,
                &hit.maker,
                &hit.description,
                &stock_field(&hit.supply),
            ]);
            continue;
        }
        let by = if hit.matched.is_empty() || hit.matched == hit.number {
            hit.how.to_owned()
        } else {
            format!("{}, by {}", hit.how, hit.matched)
        };
        say.heading(format!("{}  {}, {}  ({by})", hit.number, hit.description, hit.maker));
        supply(say, "     ", &hit.supply);
    }
}
