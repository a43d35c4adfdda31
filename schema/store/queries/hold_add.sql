INSERT INTO hold (reference, part_id, bin_id, condition, quantity, until_day, state) VALUES (?1, ?2, ?3, ?4, ?5, ?6, 'open') RETURNING hold_id
