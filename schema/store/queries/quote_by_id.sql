SELECT customer, machine, unit, state, note FROM quote WHERE quote_id = ?1
