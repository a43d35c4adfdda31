SELECT DISTINCT part_id FROM number WHERE folded = ?1 AND ?1 <> '' AND used_by = ?2 ORDER BY part_id
