SELECT o.core_id, o.quantity, o.deposit, SUM(s.quantity), SUM(s.deposit)
FROM core o JOIN core s ON s.of = o.core_id
GROUP BY o.core_id HAVING SUM(s.quantity) > o.quantity OR SUM(s.deposit) > o.deposit
