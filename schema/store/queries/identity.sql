SELECT id, name, currency FROM shop
