DELETE FROM quote_reading WHERE quote_id = ?1 AND stage = ?2
