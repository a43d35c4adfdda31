INSERT INTO quote_hold (hold_id, quote_id) VALUES (?1, ?2)
