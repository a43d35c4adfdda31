SELECT a.line, p.house, m.quantity, m.day, m.posting, a.freight
FROM arrival a JOIN movement m ON m.seq = a.seq JOIN part p ON p.part_id = m.part_id
WHERE a.order_id = ?1 AND NOT EXISTS (SELECT 1 FROM movement u WHERE u.undoes = m.seq)
ORDER BY a.seq
