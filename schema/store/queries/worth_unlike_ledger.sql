SELECT COALESCE((SELECT house FROM part WHERE part_id = COALESCE(w.part_id, m.part_id)), '?'),
       COALESCE(w.condition, m.condition),
       COALESCE(w.on_hand, 0), COALESCE(w.value, 0), COALESCE(m.quantity, 0), COALESCE(m.value, 0), m.last
FROM (SELECT part_id, condition, CAST(SUM(quantity) AS BIGINT) AS quantity, CAST(SUM(value) AS BIGINT) AS value, MAX(seq) AS last
      FROM movement GROUP BY part_id, condition) m
FULL JOIN worth w ON w.part_id = m.part_id AND w.condition = m.condition
WHERE COALESCE(w.on_hand, 0) <> COALESCE(m.quantity, 0) OR COALESCE(w.value, 0) <> COALESCE(m.value, 0)
