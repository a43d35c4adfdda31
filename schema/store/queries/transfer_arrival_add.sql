INSERT INTO transfer_arrival (seq, transfer) VALUES (?1, ?2)
