SELECT to_id FROM cross_reference WHERE from_id = ?1 AND kind = 'same'
UNION
SELECT from_id FROM cross_reference WHERE to_id = ?1 AND kind = 'same'
