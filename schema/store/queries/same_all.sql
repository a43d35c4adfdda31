SELECT from_id, to_id FROM cross_reference WHERE kind = 'same'
