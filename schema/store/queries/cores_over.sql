SELECT o.core_id, o.quantity, o.deposit, CAST(SUM(s.quantity) AS BIGINT), CAST(SUM(s.deposit) AS BIGINT)
FROM core o JOIN core s ON s.of = o.core_id
GROUP BY o.core_id HAVING SUM(s.quantity) > o.quantity OR SUM(s.deposit) > o.deposit
