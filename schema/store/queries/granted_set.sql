UPDATE shop SET granted = ?1
