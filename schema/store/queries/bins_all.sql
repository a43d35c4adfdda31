SELECT name, aisle, description, holds_most FROM bin ORDER BY bin_id
