SELECT o.offer_id, s.name, p.house, o.number, o.pack, o.minimum, o.lead_days, s.currency
FROM offer o JOIN supplier s ON s.supplier_id = o.supplier_id JOIN part p ON p.part_id = o.part_id
WHERE o.part_id = ?1
ORDER BY s.name, o.number
