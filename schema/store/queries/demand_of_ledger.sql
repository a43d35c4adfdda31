SELECT part_id, day, -CAST(SUM(quantity) AS BIGINT)
FROM (SELECT m.part_id, m.quantity, COALESCE(NULLIF(m.day, ''), substr(m.at, 1, 10)) AS day
      FROM movement m
      WHERE m.reason IN ('issue', 'sale', 'return-in')
        AND (CAST(?2 AS BIGINT) IS NULL OR m.branch_id = ?2)
        AND NOT EXISTS (SELECT 1 FROM movement u
                        WHERE u.undoes = m.seq AND COALESCE(NULLIF(u.day, ''), substr(u.at, 1, 10)) <= ?1)) AS gone
WHERE day <= ?1
GROUP BY part_id, day
ORDER BY part_id, day
