//! What is looked up fast: the tantivy index that follows the store's change log.
