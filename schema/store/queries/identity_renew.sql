UPDATE shop SET id = ?1
