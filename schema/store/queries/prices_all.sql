SELECT p.house, r.list, r.minor, r.currency FROM price r JOIN part p ON p.part_id = r.part_id ORDER BY r.part_id, r.list
