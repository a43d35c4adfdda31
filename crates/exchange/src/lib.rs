//! How do a shop's files come in and go out: CSV and XLSX, column maps, rejects.
