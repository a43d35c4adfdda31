SELECT to_id FROM cross_reference WHERE from_id = ?1 AND kind = ?2
