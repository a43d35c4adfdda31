UPDATE quote SET state = ?2, note = ?3 WHERE quote_id = ?1
