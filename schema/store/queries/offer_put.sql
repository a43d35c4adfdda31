INSERT INTO offer (supplier_id, part_id, number, pack, minimum, lead_days) VALUES (?1, ?2, ?3, ?4, ?5, ?6)
ON CONFLICT (supplier_id, part_id, number) DO UPDATE
SET pack = excluded.pack, minimum = excluded.minimum, lead_days = excluded.lead_days
WHERE (offer.pack, offer.minimum, COALESCE(offer.lead_days, -1))
   <> (excluded.pack, excluded.minimum, COALESCE(excluded.lead_days, -1))
