INSERT INTO core (side, party, item, quantity, deposit, act, of, reference, who, day, until_day)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11) RETURNING core_id
