SELECT COALESCE((SELECT MAX(seq) FROM movement), 0), n.branch_id,
       (SELECT m.hash FROM movement m WHERE m.branch_id = n.branch_id ORDER BY m.seq DESC LIMIT 1)
FROM bin n WHERE n.bin_id = ?1
