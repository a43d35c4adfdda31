UPDATE hold SET state = ?2
WHERE hold_id = ?1 AND state = 'open' AND (?3 IS NULL OR until_day >= ?3)
