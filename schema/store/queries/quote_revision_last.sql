SELECT COALESCE(MAX(revision), 0) FROM quote_revision WHERE quote_id = ?1
