SELECT part_id, house, kind, description, maker, issue, measures, layout FROM part ORDER BY part_id
