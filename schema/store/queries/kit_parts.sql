SELECT to_id, quantity FROM cross_reference WHERE from_id = ?1 AND kind = 'contains' ORDER BY to_id
