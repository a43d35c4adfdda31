//! Which tables has a store, in what order can they be filled, and by what are their rows told apart?

use crate::StoreError;
use crate::engine::{Kept, Row};

/// A table of the store, the same on every engine.
pub(crate) struct Table {
    pub name: &'static str,
    /// The columns its rows are in order by; no two rows share them.
    order: &'static str,
    columns: &'static [&'static str],
    /// Whether new rows are numbered, in the first column.
    numbered: bool,
}

macro_rules! tables {
    ($($name:ident $numbered:literal by $order:literal: $($column:ident)+;)+) => {
        &[$(Table {
            name: stringify!($name),
            order: $order,
            columns: &[$(stringify!($column)),+],
            numbered: $numbered,
        }),+]
    };
}

/// Every table with records of the shop, each after those it points to.
#[rustfmt::skip]
pub(crate) const TABLES: &[Table] = tables! {
    branch false by "branch_id": branch_id name folded;
    branch_way false by "one_id, two_id": one_id two_id minutes minor;
    bin true by "bin_id": bin_id name folded aisle description holds_most branch_id;
    part true by "part_id": part_id house folded kind description maker issue measures layout;
    number false by "part_id, place": part_id place text used_by folded;
    change false by "seq": seq part_id;
    cross_reference false by "from_id, kind, to_id": from_id kind to_id quantity remark;
    unit true by "unit_id": unit_id number folded machine description maker volts amps;
    bill_line false by "unit_id, role, part_id": unit_id role part_id quantity remark;
    price false by "part_id, list": part_id list minor currency;
    movement false by "seq": seq part_id bin_id condition quantity reason reference who at posting undoes
        value day note key branch_id hash;
    balance false by "part_id, bin_id, condition": part_id bin_id condition on_hand;
    worth false by "part_id, condition": part_id condition on_hand value;
    transfer false by "seq": seq bin_id;
    transfer_arrival false by "seq": seq transfer;
    hold true by "hold_id": hold_id reference part_id bin_id condition quantity until_day state;
    count_sheet true by "sheet_id": sheet_id what who day recount_above second_above state;
    count_line false by "sheet_id, line": sheet_id line part_id bin_id condition times counted book
        after_seq counter;
    core true by "core_id": core_id side party item quantity deposit act of reference who day until_day;
    quote true by "quote_id": quote_id customer machine unit state note;
    quote_revision false by "quote_id, revision": quote_id revision issued_day valid_until hold_until cover
        asked words currency net tax rounding total who at;
    quote_line false by "quote_id, revision, line": quote_id revision line class words part_id condition
        quantity each net tax tax_percent;
    quote_hold false by "hold_id": hold_id quote_id;
    quote_reading false by "rowid": quote_id stage check_key outcome typed;
    quote_fault false by "quote_id, fault": quote_id fault;
    supplier true by "supplier_id": supplier_id name folded address currency rate order_minimum freight
        free_from lead_days;
    offer true by "offer_id": offer_id supplier_id part_id number pack minimum lead_days;
    offer_break false by "offer_id, at_least": offer_id at_least minor;
    supply_order true by "order_id": order_id supplier_id state currency rate freight theirs who
        drafted_day sent_day branch_id;
    supply_line false by "order_id, line": order_id line part_id number quantity minor rest due_day note;
    arrival false by "seq": seq order_id line freight;
    demand false by "folded, month, mark": folded month mark number quantity;
};

impl Table {
    /// Its rows in order, without the first `done`.
    pub fn rows_from(&self, done: u64) -> String {
        format!("{} LIMIT {} OFFSET {done}", self.rows(), i64::MAX)
    }

    /// Its first `rows` rows in order; all of them when it is not said how many.
    pub fn rows_until(&self, rows: Option<u64>) -> String {
        rows.map_or_else(|| self.rows(), |rows| format!("{} LIMIT {rows}", self.rows()))
    }

    fn rows(&self) -> String {
        format!("{} ORDER BY {}", self.all(), self.order)
    }

    /// Its rows for which `condition` holds, in any order.
    pub fn rows_where(&self, condition: &str) -> String {
        format!("{} WHERE {condition}", self.all())
    }

    fn all(&self) -> String {
        format!("SELECT {} FROM {}", self.columns.join(", "), self.name)
    }

    /// The statement that puts so many rows.
    pub fn insert(&self, rows: usize) -> String {
        format!("INSERT INTO {}", self.values(rows))
    }

    /// The statement that puts a row into a file, in the place of the one that was there.
    pub fn replace(&self) -> String {
        format!("INSERT OR REPLACE INTO {}", self.values(1))
    }

    fn values(&self, rows: usize) -> String {
        let width = self.columns.len();
        let row = |row| {
            let values: Vec<_> = (1..=width).map(|at| format!("?{}", row * width + at)).collect();
            format!("({})", values.join(", "))
        };
        let rows: Vec<_> = (0..rows).map(row).collect();
        let columns = self.columns.join(", ");
        format!("{} ({columns}) VALUES {}", self.name, rows.join(", "))
    }

    /// What makes a server number new rows after those that are there, when it numbers them.
    pub fn numbers_go_on(&self) -> Option<String> {
        let Self { name, columns: [id, ..], .. } = self else { return None };
        let words = format!(
            "SELECT setval(pg_get_serial_sequence('{name}', '{id}'), MAX({id})) FROM {name} \
             HAVING MAX({id}) IS NOT NULL"
        );
        self.numbered.then_some(words)
    }

    /// The values of one of its rows.
    pub fn read(&self, row: &Row<'_>) -> Result<Vec<Kept>, StoreError> {
        (0..self.columns.len()).map(|at| row.kept(at)).collect()
    }
}
