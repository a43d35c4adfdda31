SELECT on_hand, value FROM worth WHERE part_id = ?1 AND condition = ?2
