INSERT INTO bill_line (unit_id, role, part_id, quantity, remark) VALUES (?1, ?2, ?3, ?4, ?5)
ON CONFLICT (unit_id, role, part_id) DO UPDATE SET quantity = excluded.quantity, remark = excluded.remark
WHERE bill_line.quantity <> excluded.quantity OR bill_line.remark <> excluded.remark
