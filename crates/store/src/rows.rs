//! How is every row of a query handed on, one at a time?

use rusqlite::{Params, Row};

use crate::{Store, StoreError};

impl Store {
    /// Hands what `read` makes of each row of `query` to `take`, and ends with the first error.
    pub(crate) fn each_row<T, E: From<StoreError>>(
        &self,
        query: &str,
        params: impl Params,
        read: impl Fn(&Row<'_>) -> Result<T, StoreError>,
        mut take: impl FnMut(T) -> Result<(), E>,
    ) -> Result<(), E> {
        let mut query = self.connection.prepare_cached(query).map_err(StoreError::from)?;
        let mut rows = query.query(params).map_err(StoreError::from)?;
        while let Some(row) = rows.next().map_err(StoreError::from)? {
            take(read(row)?)?;
        }
        Ok(())
    }
}
