UPDATE hold SET until_day = ?2 WHERE hold_id = ?1 AND state = 'open'
