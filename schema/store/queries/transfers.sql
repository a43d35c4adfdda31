SELECT seq, part_id, house, condition, bin, branch, to_bin, to_branch, quantity, value, came, came_value, day, who, reference
FROM (SELECT t.seq, p.part_id, p.house, m.condition, n.name AS bin, COALESCE(f.name, '') AS branch,
             d.name AS to_bin, COALESCE(o.name, '') AS to_branch, -m.quantity AS quantity, -m.value AS value,
             COALESCE((SELECT CAST(SUM(i.quantity) AS BIGINT) FROM transfer_arrival a JOIN movement i ON i.seq = a.seq
                       WHERE a.transfer = t.seq AND NOT EXISTS (SELECT 1 FROM movement u WHERE u.undoes = i.seq)), 0) AS came,
             COALESCE((SELECT CAST(SUM(i.value) AS BIGINT) FROM transfer_arrival a JOIN movement i ON i.seq = a.seq
                       WHERE a.transfer = t.seq AND NOT EXISTS (SELECT 1 FROM movement u WHERE u.undoes = i.seq)), 0) AS came_value,
             m.day, m.who, m.reference
      FROM transfer t
      JOIN movement m ON m.seq = t.seq
      JOIN part p ON p.part_id = m.part_id
      JOIN bin n ON n.bin_id = m.bin_id LEFT JOIN branch f ON f.branch_id = n.branch_id
      JOIN bin d ON d.bin_id = t.bin_id LEFT JOIN branch o ON o.branch_id = d.branch_id
      WHERE (CAST(?1 AS BIGINT) IS NULL OR t.seq = ?1)
        AND NOT EXISTS (SELECT 1 FROM movement u WHERE u.undoes = m.seq)) AS sent
WHERE quantity > came
ORDER BY seq
