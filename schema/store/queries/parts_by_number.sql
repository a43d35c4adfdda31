SELECT part_id FROM part WHERE folded = ?1
UNION
SELECT part_id FROM number WHERE folded = ?1 AND ?1 <> ''
ORDER BY part_id
