INSERT INTO part (house, folded, kind, description, maker, issue, measures, layout)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)
ON CONFLICT (folded) DO NOTHING
RETURNING part_id
