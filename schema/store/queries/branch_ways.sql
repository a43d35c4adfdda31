SELECT one.name, two.name, w.minutes, w.minor
FROM branch_way w JOIN branch one ON one.branch_id = w.one_id JOIN branch two ON two.branch_id = w.two_id
ORDER BY w.one_id, w.two_id
