SELECT COALESCE((SELECT on_hand FROM balance WHERE part_id = ?1 AND bin_id = ?2 AND condition = ?3), 0) AS on_hand,
       COALESCE((SELECT CAST(SUM(quantity) AS BIGINT) FROM hold
                 WHERE part_id = ?1 AND bin_id = ?2 AND condition = ?3 AND state = 'open' AND until_day >= ?4), 0) AS held,
       COALESCE(w.on_hand, 0) AS pool_on_hand, COALESCE(w.value, 0) AS pool_value,
       COALESCE((SELECT MAX(seq) FROM movement), 0) AS last, n.branch_id,
       (SELECT m.hash FROM movement m WHERE m.branch_id = n.branch_id ORDER BY m.seq DESC LIMIT 1) AS hash
FROM bin n LEFT JOIN worth w ON w.part_id = ?1 AND w.condition = ?3 WHERE n.bin_id = ?2
