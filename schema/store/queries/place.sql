SELECT (SELECT part_id FROM part WHERE folded = ?1) AS part_id, (SELECT bin_id FROM bin WHERE folded = ?2) AS bin_id
