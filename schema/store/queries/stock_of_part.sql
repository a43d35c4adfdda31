SELECT n.name, b.condition, b.on_hand,
       COALESCE((SELECT CAST(SUM(h.quantity) AS BIGINT) FROM hold h
                 WHERE h.part_id = b.part_id AND h.bin_id = b.bin_id AND h.condition = b.condition
                   AND h.state = 'open' AND h.until_day >= ?2), 0),
       COALESCE(r.name, '')
FROM balance b JOIN bin n ON n.bin_id = b.bin_id LEFT JOIN branch r ON r.branch_id = n.branch_id
WHERE b.part_id = ?1 AND b.on_hand > 0
ORDER BY n.name, b.condition
