SELECT COALESCE(CAST(-SUM(m.value) AS BIGINT), 0)
FROM movement m LEFT JOIN movement was ON was.seq = m.undoes
WHERE m.day <= ?1 AND m.day <> ''
  AND COALESCE(was.reason, m.reason) IN ('transfer-out', 'transfer-in')
