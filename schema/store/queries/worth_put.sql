INSERT INTO worth (part_id, condition, on_hand, value) VALUES (?1, ?2, ?3, ?4)
ON CONFLICT (part_id, condition) DO UPDATE SET on_hand = excluded.on_hand, value = excluded.value
