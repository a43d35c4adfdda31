SELECT n.branch_id, COALESCE(b.name, '')
FROM bin n LEFT JOIN branch b ON b.branch_id = n.branch_id WHERE n.bin_id = ?1
