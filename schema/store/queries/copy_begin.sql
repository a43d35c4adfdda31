INSERT INTO copy_progress (source, at, done) VALUES (?1, 0, 0)
