INSERT INTO demand (folded, month, mark, number, quantity) VALUES (?1, ?2, ?3, ?4, ?5)
ON CONFLICT (folded, month, mark) DO UPDATE SET quantity = excluded.quantity
WHERE demand.quantity <> excluded.quantity AND (demand.mark <> 'asked' OR demand.quantity < excluded.quantity)
