//! How does a list of found parts read?

use binwright_shop::answer::Hit;

use super::{stock_field, supply};
use crate::say::{Form, Say};

/// Adds the hits for reading or as tab-separated lines.
pub fn hit_list(say: &mut Say, hits: &[Hit]) {
    for hit in hits {
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
