SELECT house FROM part WHERE part_id = ?1
