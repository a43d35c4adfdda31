SELECT u.unit_id, u.number, u.machine, u.description, u.maker, u.volts, u.amps, b.role
FROM bill_line b JOIN unit u ON u.unit_id = b.unit_id
WHERE b.part_id = ?1
ORDER BY u.number, b.role
