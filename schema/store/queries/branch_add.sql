INSERT INTO branch (branch_id, name, folded) SELECT MAX(branch_id) + 1, ?1, ?2 FROM branch
