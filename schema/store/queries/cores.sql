SELECT o.core_id, o.side, o.party, o.item, o.quantity, o.deposit, o.reference, o.who, o.day, o.until_day,
       o.quantity - COALESCE(CAST(SUM(s.quantity) AS BIGINT), 0), o.deposit - COALESCE(CAST(SUM(s.deposit) AS BIGINT), 0),
       COALESCE(CAST(SUM(CASE WHEN s.act = 'kept' THEN s.deposit END) AS BIGINT), 0)
FROM core o LEFT JOIN core s ON s.of = o.core_id
WHERE o.act = 'owed' AND (CAST(?1 AS BIGINT) IS NULL OR o.core_id = ?1)
GROUP BY o.core_id ORDER BY o.core_id
