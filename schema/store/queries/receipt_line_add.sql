INSERT INTO arrival (seq, order_id, line) VALUES (?1, ?2, ?3) ON CONFLICT (seq) DO NOTHING
