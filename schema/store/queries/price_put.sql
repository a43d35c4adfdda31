INSERT INTO price (part_id, list, minor, currency) VALUES (?1, ?2, ?3, ?4)
ON CONFLICT (part_id, list) DO UPDATE SET minor = excluded.minor, currency = excluded.currency
WHERE price.minor <> excluded.minor OR price.currency <> excluded.currency
