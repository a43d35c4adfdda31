SELECT l.line, l.part_id, p.house, l.number, l.quantity, l.minor, l.rest, l.due_day, l.note,
       COALESCE((SELECT CAST(SUM(m.quantity) AS BIGINT) FROM arrival a JOIN movement m ON m.seq = a.seq
                 WHERE a.order_id = l.order_id AND a.line = l.line
                   AND NOT EXISTS (SELECT 1 FROM movement u WHERE u.undoes = m.seq)), 0)
FROM supply_line l JOIN part p ON p.part_id = l.part_id
WHERE l.order_id = ?1
ORDER BY l.line
