SELECT o.order_id, s.name, o.state, o.currency, o.rate, o.freight, o.theirs, o.who, o.drafted_day, o.sent_day, b.name
FROM supply_order o JOIN supplier s ON s.supplier_id = o.supplier_id
     LEFT JOIN branch b ON b.branch_id = o.branch_id
ORDER BY o.order_id DESC LIMIT ?1
