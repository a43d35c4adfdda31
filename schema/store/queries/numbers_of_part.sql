SELECT text, used_by FROM number WHERE part_id = ?1 ORDER BY place
