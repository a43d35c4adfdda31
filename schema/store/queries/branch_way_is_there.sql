SELECT EXISTS (SELECT 1 FROM branch_way WHERE one_id = ?1 AND two_id = ?2)
