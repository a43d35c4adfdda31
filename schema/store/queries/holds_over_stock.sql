SELECT COALESCE((SELECT house FROM part WHERE part_id = h.part_id), '?'),
       COALESCE((SELECT name FROM bin WHERE bin_id = h.bin_id), '?'), h.condition, CAST(SUM(h.quantity) AS BIGINT), COALESCE(MAX(b.on_hand), 0)
FROM hold h LEFT JOIN balance b ON b.part_id = h.part_id AND b.bin_id = h.bin_id AND b.condition = h.condition
WHERE h.state = 'open' AND h.until_day >= ?1
GROUP BY h.part_id, h.bin_id, h.condition
HAVING SUM(h.quantity) > COALESCE(MAX(b.on_hand), 0)
