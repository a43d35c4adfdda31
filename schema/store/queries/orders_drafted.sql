SELECT l.part_id, l.order_id, l.quantity, l.due_day, b.name
FROM supply_line l JOIN supply_order o ON o.order_id = l.order_id
     LEFT JOIN branch b ON b.branch_id = o.branch_id
WHERE o.state = 'draft'
ORDER BY l.part_id, l.order_id, l.line
