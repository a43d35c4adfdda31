SELECT branch_id, name FROM branch ORDER BY branch_id
