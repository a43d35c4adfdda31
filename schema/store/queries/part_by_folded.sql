SELECT part_id, house, kind, description, maker, issue, measures, layout FROM part WHERE folded = ?1
