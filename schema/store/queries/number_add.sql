INSERT INTO number (part_id, place, text, used_by, folded) VALUES (?1, ?2, ?3, ?4, ?5)
