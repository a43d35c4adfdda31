SELECT b.name, (SELECT m.hash FROM movement m WHERE m.branch_id = b.branch_id ORDER BY m.seq DESC LIMIT 1)
FROM branch b ORDER BY b.branch_id
