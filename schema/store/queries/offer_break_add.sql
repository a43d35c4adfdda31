INSERT INTO offer_break (offer_id, at_least, minor) VALUES (?1, ?2, ?3)
