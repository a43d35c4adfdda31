INSERT INTO count_sheet (what, who, day, recount_above, second_above, state)
VALUES (?1, ?2, ?3, ?4, ?5, 'open') RETURNING sheet_id
