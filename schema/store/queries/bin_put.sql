INSERT INTO bin (name, folded, aisle, description) VALUES (?1, ?2, ?3, ?4)
ON CONFLICT (folded) DO UPDATE SET name = excluded.name, aisle = excluded.aisle, description = excluded.description
WHERE (bin.name, bin.aisle, bin.description) <> (excluded.name, excluded.aisle, excluded.description)
