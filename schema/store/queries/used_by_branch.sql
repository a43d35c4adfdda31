SELECT m.part_id, b.name, -CAST(SUM(m.quantity) AS BIGINT)
FROM movement m JOIN branch b ON b.branch_id = m.branch_id
WHERE m.reason IN ('issue', 'sale', 'return-in') AND m.day > ?1 AND m.day <= ?2
  AND NOT EXISTS (SELECT 1 FROM movement u WHERE u.undoes = m.seq)
GROUP BY m.part_id, b.branch_id, b.name
ORDER BY m.part_id, b.branch_id
