INSERT INTO quote_reading (quote_id, stage, check_key, outcome, typed) VALUES (?1, ?2, ?3, ?4, ?5)
