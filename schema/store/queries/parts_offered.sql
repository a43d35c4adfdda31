SELECT DISTINCT part_id FROM offer ORDER BY part_id
