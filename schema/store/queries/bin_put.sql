INSERT INTO bin (name, folded, aisle, description, holds_most, branch_id) VALUES (?1, ?2, ?3, ?4, ?5, ?6)
ON CONFLICT (folded) DO UPDATE SET name = excluded.name, aisle = excluded.aisle,
    description = excluded.description, holds_most = excluded.holds_most, branch_id = excluded.branch_id
WHERE (bin.name, bin.aisle, bin.description, COALESCE(bin.holds_most, -1), bin.branch_id)
   <> (excluded.name, excluded.aisle, excluded.description, COALESCE(excluded.holds_most, -1), excluded.branch_id)
