SELECT at_least, minor FROM offer_break WHERE offer_id = ?1 ORDER BY at_least
