SELECT part_id FROM part WHERE folded = ?1
