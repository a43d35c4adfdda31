SELECT o.core_id, o.side, o.party, o.item, o.quantity, o.deposit, o.reference, o.who, o.day, o.until_day,
       o.quantity - COALESCE(SUM(s.quantity), 0), o.deposit - COALESCE(SUM(s.deposit), 0),
       COALESCE(SUM(CASE WHEN s.act = 'kept' THEN s.deposit END), 0)
FROM core o LEFT JOIN core s ON s.of = o.core_id
WHERE o.act = 'owed' AND (?1 IS NULL OR o.core_id = ?1)
GROUP BY o.core_id ORDER BY o.core_id
