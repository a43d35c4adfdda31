DELETE FROM offer_break WHERE offer_id = ?1
