INSERT INTO arrival (seq, order_id, line, freight) VALUES (?1, ?2, ?3, ?4) ON CONFLICT (seq) DO NOTHING
