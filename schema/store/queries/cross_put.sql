INSERT INTO cross_reference (from_id, kind, to_id, quantity, remark) VALUES (?1, ?2, ?3, ?4, ?5)
ON CONFLICT (from_id, kind, to_id) DO UPDATE SET quantity = excluded.quantity, remark = excluded.remark
WHERE cross_reference.quantity <> excluded.quantity OR cross_reference.remark <> excluded.remark
