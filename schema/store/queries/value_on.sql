SELECT p.house, m.condition, CAST(SUM(m.quantity) AS BIGINT), CAST(SUM(m.value) AS BIGINT)
FROM movement m JOIN part p ON p.part_id = m.part_id
WHERE COALESCE(NULLIF(m.day, ''), substr(m.at, 1, 10)) <= ?1
  AND (CAST(?2 AS BIGINT) IS NULL OR m.branch_id = ?2)
GROUP BY p.part_id, m.condition
HAVING SUM(m.quantity) <> 0 OR SUM(m.value) <> 0
ORDER BY p.house, m.condition
