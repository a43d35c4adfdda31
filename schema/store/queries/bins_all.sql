SELECT n.name, n.aisle, n.description, n.holds_most, NULLIF(b.name, '')
FROM bin n LEFT JOIN branch b ON b.branch_id = n.branch_id
ORDER BY n.bin_id
