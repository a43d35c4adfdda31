SELECT COALESCE(CAST(SUM(a.freight) AS BIGINT), 0) FROM arrival a
WHERE a.order_id = ?1 AND NOT EXISTS (SELECT 1 FROM movement u WHERE u.undoes = a.seq)
