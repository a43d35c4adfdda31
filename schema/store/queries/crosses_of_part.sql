SELECT c.from_id, f.house, c.kind, c.to_id, t.house, c.quantity, c.remark
FROM cross_reference c
JOIN part f ON f.part_id = c.from_id
JOIN part t ON t.part_id = c.to_id
WHERE c.from_id = ?1 OR c.to_id = ?1
ORDER BY c.kind, f.house, t.house
