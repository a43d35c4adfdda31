SELECT p.house, n.name, b.condition, b.on_hand
FROM balance b JOIN bin n ON n.bin_id = b.bin_id JOIN part p ON p.part_id = b.part_id
WHERE b.on_hand > 0
ORDER BY b.part_id, n.name, b.condition
