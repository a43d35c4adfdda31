INSERT INTO transfer (seq, bin_id) VALUES (?1, ?2)
