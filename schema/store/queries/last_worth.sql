SELECT quantity, value FROM movement
WHERE part_id = ?1 AND condition = ?2 AND value <> 0 ORDER BY seq DESC LIMIT 1
