UPDATE hold SET state = ?2
WHERE hold_id = ?1 AND state = 'open' AND (CAST(?3 AS TEXT) IS NULL OR until_day >= ?3)
