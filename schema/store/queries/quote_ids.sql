SELECT quote_id FROM quote WHERE (?1 = '' OR state = ?1) ORDER BY quote_id
