SELECT part_id, house, kind, description, maker, issue, measures, layout FROM part WHERE kind = ?1 ORDER BY part_id
