SELECT p.part_id, p.house, p.kind, p.description, p.maker, p.issue, p.measures, p.layout, n.text, n.used_by
FROM part p LEFT JOIN number n ON n.part_id = p.part_id
ORDER BY p.part_id, n.place
