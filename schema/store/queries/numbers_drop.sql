DELETE FROM number WHERE part_id = ?1
