SELECT supplier_id, name, address, currency, rate, order_minimum, freight, free_from FROM supplier WHERE folded = ?1
