INSERT INTO branch_way (one_id, two_id, minutes, minor) VALUES (?1, ?2, ?3, ?4)
ON CONFLICT (one_id, two_id) DO UPDATE SET minutes = excluded.minutes, minor = excluded.minor
WHERE (branch_way.minutes, branch_way.minor) <> (excluded.minutes, excluded.minor)
