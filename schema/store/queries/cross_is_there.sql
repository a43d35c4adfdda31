SELECT EXISTS (SELECT 1 FROM cross_reference WHERE from_id = ?1 AND kind = ?2 AND to_id = ?3)
