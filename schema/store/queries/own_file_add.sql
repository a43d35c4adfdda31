INSERT INTO own_file (name, bytes) VALUES (?1, ?2)
