INSERT INTO supplier (name, folded, address, currency, rate, order_minimum, freight, free_from, lead_days)
VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9)
ON CONFLICT (folded) DO UPDATE SET name = excluded.name, address = excluded.address, currency = excluded.currency,
    rate = excluded.rate, order_minimum = excluded.order_minimum, freight = excluded.freight,
    free_from = excluded.free_from, lead_days = excluded.lead_days
WHERE (supplier.name, supplier.address, supplier.currency, supplier.rate, supplier.order_minimum, supplier.freight,
       supplier.lead_days, COALESCE(supplier.free_from, -1))
   <> (excluded.name, excluded.address, excluded.currency, excluded.rate, excluded.order_minimum, excluded.freight,
       excluded.lead_days, COALESCE(excluded.free_from, -1))
