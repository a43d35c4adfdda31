SELECT COALESCE(CAST(SUM(quantity) AS BIGINT), 0) FROM hold
WHERE part_id = ?1 AND bin_id = ?2 AND condition = ?3 AND state = 'open' AND until_day >= ?4
