SELECT list, minor, currency FROM price WHERE part_id = ?1 ORDER BY list
