SELECT u.number, b.role, p.house, b.quantity, b.remark, b.part_id
FROM bill_line b JOIN unit u ON u.unit_id = b.unit_id JOIN part p ON p.part_id = b.part_id
WHERE b.unit_id = ?1
ORDER BY b.role, p.house
