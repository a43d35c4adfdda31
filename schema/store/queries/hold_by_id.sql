SELECT part_id, bin_id, condition, quantity, reference FROM hold
WHERE hold_id = ?1 AND state = 'open' AND until_day >= ?2
