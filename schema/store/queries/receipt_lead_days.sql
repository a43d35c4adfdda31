SELECT s.name, l.part_id, o.sent_day, m.day, m.quantity
FROM arrival a
JOIN movement m ON m.seq = a.seq
JOIN supply_line l ON l.order_id = a.order_id AND l.line = a.line
JOIN supply_order o ON o.order_id = a.order_id
JOIN supplier s ON s.supplier_id = o.supplier_id
WHERE m.day <= ?1 AND NOT EXISTS (SELECT 1 FROM movement u WHERE u.undoes = m.seq)
ORDER BY a.seq
