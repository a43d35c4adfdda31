SELECT supplier_id, name, address, currency, rate, order_minimum, freight, free_from, lead_days FROM supplier ORDER BY name
