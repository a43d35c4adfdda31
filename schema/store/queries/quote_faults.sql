SELECT fault FROM quote_fault WHERE quote_id = ?1 ORDER BY fault
