//! What are the values of each row together worth? One look-up a column, all columns in one pass.

use std::{array, ops::Range};

/// How much better a code explains a reading than the kind's spread does, in each of `K` ways.
pub(crate) type Worth<const K: usize> = [f32; K];
/// The product of many.
pub(crate) type Product<const K: usize> = [f64; K];

/// One code a row, and what each code is worth.
pub(crate) type WorthOf<'a, const K: usize> = (&'a Codes, &'a [Worth<K>]);

/// The codes of a column's rows.
#[derive(Debug)]
pub(crate) enum Codes {
    Short(Vec<u16>),
    Long(Vec<u32>),
}

impl Codes {
    /// Keeps `codes`, all below `end`.
    pub fn new(codes: Vec<u32>, end: usize) -> Self {
        if end <= 1 << 16 {
            Self::Short(codes.into_iter().map(|code| code as u16).collect())
        } else {
            Self::Long(codes)
        }
    }

    pub fn of(&self, row: usize) -> usize {
        match self {
            Self::Short(codes) => codes[row] as usize,
            Self::Long(codes) => codes[row] as usize,
        }
    }

    fn is_long(&self) -> bool {
        matches!(self, Self::Long(_))
    }
}

/// A code of one of the widths.
trait Code: Copy + Into<u32> {
    /// The rows' codes, when they are of this width.
    fn all(codes: &Codes) -> &[Self];
}

impl Code for u16 {
    fn all(codes: &Codes) -> &[Self] {
        if let Codes::Short(codes) = codes { codes } else { &[] }
    }
}

impl Code for u32 {
    fn all(codes: &Codes) -> &[Self] {
        if let Codes::Long(codes) = codes { codes } else { &[] }
    }
}

/// Columns looked up in one pass; with more, products are laid down between passes.
const ABREAST: usize = 6;
/// Rows between two passes, so that what was laid down stays in the nearest cache.
const BLOCK: usize = 1024;
/// Columns multiplied in single precision, half of a pass: each is worth at least
/// [`crate::weigh::LEAST`] and hardly more than there are rows, so their product is well within it.
const SINGLE: usize = 3;

/// Multiplies for each of `rows` what its codes in `columns` are worth and folds the products, row by
/// row, into `start`. Puts columns of one width of code together.
pub(crate) fn multiply<A, const K: usize>(
    rows: usize,
    columns: &mut [WorthOf<'_, K>],
    start: A,
    mut fold: impl FnMut(A, Product<K>) -> A,
) -> A {
    columns.sort_by_key(|(codes, _)| codes.is_long());
    let widths = columns.chunk_by(|a, b| a.0.is_long() == b.0.is_long());
    let mut passes = widths.flat_map(|columns| columns.chunks(ABREAST));
    let Some(last) = passes.next_back() else {
        return (0..rows).fold(start, |all, _| fold(all, [1.0; K]));
    };
    let Some(first) = passes.next() else {
        return look_up(last, 0..rows, start, |all, _, product| fold(all, product));
    };
    let mut products = vec![[1.0; K]; BLOCK.min(rows)];
    (0..rows).step_by(BLOCK).fold(start, |all, from| {
        let rows = from..rows.min(from + BLOCK);
        look_up(first, rows.clone(), (), |(), at, product| products[at] = product);
        for pass in passes.clone() {
            look_up(pass, rows.clone(), (), |(), at, product| {
                products[at] = times(products[at], product);
            });
        }
        look_up(last, rows, all, |all, at, product| fold(all, times(products[at], product)))
    })
}

fn times<const K: usize>(a: Product<K>, b: Product<K>) -> Product<K> {
    array::from_fn(|at| a[at] * b[at])
}

/// Folds the place of every row among `rows` and its product into `start`. The codes of `columns`, of
/// which there are some, are of one width.
fn look_up<A, const K: usize>(
    columns: &[WorthOf<'_, K>],
    rows: Range<usize>,
    start: A,
    fold: impl FnMut(A, usize, Product<K>) -> A,
) -> A {
    if columns.iter().any(|(codes, _)| codes.is_long()) {
        of_width::<A, u32, K>(columns, rows, start, fold)
    } else {
        of_width::<A, u16, K>(columns, rows, start, fold)
    }
}

fn of_width<A, C: Code, const K: usize>(
    columns: &[WorthOf<'_, K>],
    rows: Range<usize>,
    start: A,
    fold: impl FnMut(A, usize, Product<K>) -> A,
) -> A {
    match columns.len() {
        6.. => abreast::<A, C, 6, K>(columns, rows, start, fold),
        5 => abreast::<A, C, 5, K>(columns, rows, start, fold),
        4 => abreast::<A, C, 4, K>(columns, rows, start, fold),
        3 => abreast::<A, C, 3, K>(columns, rows, start, fold),
        2 => abreast::<A, C, 2, K>(columns, rows, start, fold),
        _ => abreast::<A, C, 1, K>(columns, rows, start, fold),
    }
}

/// Kept to itself: among other loops it runs out of registers.
#[inline(never)]
fn abreast<A, C: Code, const N: usize, const K: usize>(
    columns: &[WorthOf<'_, K>],
    rows: Range<usize>,
    start: A,
    mut fold: impl FnMut(A, usize, Product<K>) -> A,
) -> A {
    let codes: [&[C]; N] = array::from_fn(|at| &C::all(columns[at].0)[rows.clone()]);
    let worth: [&[Worth<K>]; N] = array::from_fn(|at| columns[at].1);
    let mut all = start;
    for row in 0..rows.len() {
        let mut product = [1.0; K];
        for at in (0..N).step_by(SINGLE) {
            let mut some = [1.0_f32; K];
            for at in at..N.min(at + SINGLE) {
                let own = worth[at][codes[at][row].into() as usize];
                some = array::from_fn(|way| some[way] * own[way]);
            }
            product = times(product, some.map(f64::from));
        }
        all = fold(all, row, product);
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        /// More columns than one pass takes, codes of both widths, more rows than a block.
        #[test]
        fn the_products_are_those_of_one_look_up_after_the_other(
            rows in 0..2_500_usize, wide in prop::collection::vec(any::<bool>(), 0..15),
        ) {
            let code = |column: usize, row: usize| (row * (column + 3) % 7) as u32;
            let worth: Vec<Worth<2>> = (1..8_u8).map(|n| [n.into(), 1.0 / f32::from(n)]).collect();
            let columns: Vec<Codes> = wide.iter().enumerate().map(|(column, wide)| {
                let codes = (0..rows).map(|row| code(column, row)).collect();
                Codes::new(codes, if *wide { 1 << 17 } else { 7 })
            }).collect();
            let mut worth_of: Vec<WorthOf<'_, 2>> =
                columns.iter().map(|codes| (codes, worth.as_slice())).collect();
            let quick = multiply(rows, &mut worth_of, Vec::new(), |mut all, product| {
                all.push(product);
                all
            });
            prop_assert_eq!(quick.len(), rows);
            for (row, quick) in quick.iter().enumerate() {
                for way in 0..2 {
                    let each = (0..columns.len()).map(|at| worth[code(at, row) as usize][way]);
                    let slow: f64 = each.map(f64::from).product();
                    prop_assert!((quick[way] / slow - 1.0).abs() < 1e-5, "{} {slow}", quick[way]);
                }
            }
        }
    }
}
