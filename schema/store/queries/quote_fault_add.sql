INSERT INTO quote_fault (quote_id, fault) VALUES (?1, ?2)
