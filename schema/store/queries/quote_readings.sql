SELECT stage, check_key, outcome, typed FROM quote_reading WHERE quote_id = ?1 ORDER BY stage, rowid
