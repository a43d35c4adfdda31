UPDATE hold SET state = ?2 WHERE hold_id = ?1 AND state = 'open'
