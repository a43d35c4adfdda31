INSERT INTO demand (folded, month, mark, number, quantity) VALUES (?1, ?2, 'asked', ?3, ?4)
ON CONFLICT (folded, month, mark) DO UPDATE SET quantity = demand.quantity + excluded.quantity
RETURNING quantity
