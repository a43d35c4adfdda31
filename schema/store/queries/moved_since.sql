SELECT COALESCE(CAST(SUM(quantity) AS BIGINT), 0) FROM movement
WHERE part_id = ?1 AND bin_id = ?2 AND condition = ?3 AND seq > ?4
