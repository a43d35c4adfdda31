DELETE FROM offer_break WHERE offer_id IN (SELECT offer_id FROM offer WHERE supplier_id = ?1)
