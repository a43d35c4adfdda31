//! Where is the shop kept: the SQLite store with its ledger, holds and change log.
