SELECT name, aisle, description FROM bin ORDER BY bin_id
