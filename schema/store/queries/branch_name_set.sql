UPDATE branch SET name = ?2, folded = ?3 WHERE branch_id = ?1
