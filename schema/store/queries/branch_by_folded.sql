SELECT branch_id, name FROM branch WHERE folded = ?1
