SELECT h.hold_id, h.reference, p.house, b.name, h.condition, h.quantity, h.until_day
FROM quote_hold q JOIN hold h ON h.hold_id = q.hold_id
JOIN part p ON p.part_id = h.part_id JOIN bin b ON b.bin_id = h.bin_id
WHERE q.quote_id = ?1 AND h.state = 'open' ORDER BY h.hold_id
