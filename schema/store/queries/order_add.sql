INSERT INTO supply_order (supplier_id, state, currency, rate, freight, theirs, who, drafted_day, branch_id)
VALUES (?1, 'draft', ?2, ?3, ?4, '', ?5, ?6, ?7)
RETURNING order_id
