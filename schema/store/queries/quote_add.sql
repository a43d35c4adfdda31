INSERT INTO quote (customer, machine, unit, state, note) VALUES (?1, ?2, ?3, 'open', '') RETURNING quote_id
