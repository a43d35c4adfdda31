SELECT h.hold_id, h.reference, p.house, n.name, h.condition, h.quantity, h.until_day
FROM hold h JOIN part p ON p.part_id = h.part_id JOIN bin n ON n.bin_id = h.bin_id
WHERE h.state = 'open' AND h.until_day >= ?1
ORDER BY h.until_day, h.hold_id
