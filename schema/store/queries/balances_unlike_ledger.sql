SELECT COALESCE((SELECT house FROM part WHERE part_id = COALESCE(b.part_id, m.part_id)), '?'),
       COALESCE((SELECT name FROM bin WHERE bin_id = COALESCE(b.bin_id, m.bin_id)), '?'),
       COALESCE(b.condition, m.condition),
       COALESCE(b.on_hand, 0), COALESCE(m.total, 0), m.last
FROM (SELECT part_id, bin_id, condition, CAST(SUM(quantity) AS BIGINT) AS total, MAX(seq) AS last
      FROM movement GROUP BY part_id, bin_id, condition) m
FULL JOIN balance b ON b.part_id = m.part_id AND b.bin_id = m.bin_id AND b.condition = m.condition
WHERE COALESCE(b.on_hand, 0) <> COALESCE(m.total, 0)
