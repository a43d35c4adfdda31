SELECT on_hand FROM balance WHERE part_id = ?1 AND bin_id = ?2 AND condition = ?3
