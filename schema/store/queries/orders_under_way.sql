SELECT part_id, order_id, quantity - came, due_day, branch
FROM (SELECT l.part_id, l.order_id, l.line, l.quantity, l.due_day, b.name AS branch,
             COALESCE((SELECT CAST(SUM(m.quantity) AS BIGINT) FROM arrival a JOIN movement m ON m.seq = a.seq
                       WHERE a.order_id = l.order_id AND a.line = l.line
                         AND NOT EXISTS (SELECT 1 FROM movement u WHERE u.undoes = m.seq)), 0) AS came
      FROM supply_line l JOIN supply_order o ON o.order_id = l.order_id
           LEFT JOIN branch b ON b.branch_id = o.branch_id
      WHERE o.state IN ('sent', 'acknowledged') AND l.rest <> 'short') AS open_line
WHERE quantity > came
ORDER BY part_id, due_day, order_id, line
