SELECT from_id FROM cross_reference WHERE to_id = ?1 AND kind = 'replaces' ORDER BY from_id LIMIT 1
