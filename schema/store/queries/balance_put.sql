INSERT INTO balance (part_id, bin_id, condition, on_hand) VALUES (?1, ?2, ?3, ?4)
ON CONFLICT (part_id, bin_id, condition) DO UPDATE SET on_hand = excluded.on_hand
