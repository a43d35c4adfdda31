UPDATE count_sheet SET state = ?2 WHERE sheet_id = ?1 AND state = 'open'
