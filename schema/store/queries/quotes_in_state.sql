SELECT count(*) FROM quote WHERE state = ?1
