INSERT INTO change (part_id) VALUES (?1)
