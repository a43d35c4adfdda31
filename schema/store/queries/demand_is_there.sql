SELECT EXISTS (SELECT 1 FROM demand WHERE folded = ?1 AND month = ?2 AND mark = ?3)
