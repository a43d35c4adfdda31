INSERT INTO supply_line (order_id, line, part_id, number, quantity, minor, rest, due_day, note)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, 'due', ?7, '')
