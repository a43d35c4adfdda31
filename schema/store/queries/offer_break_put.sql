INSERT INTO offer_break (offer_id, at_least, minor) VALUES (?1, ?2, ?3)
ON CONFLICT (offer_id, at_least) DO UPDATE SET minor = excluded.minor WHERE offer_break.minor <> excluded.minor
