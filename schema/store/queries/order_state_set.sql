UPDATE supply_order SET state = ?2, sent_day = COALESCE(?3, sent_day), theirs = COALESCE(?4, theirs) WHERE order_id = ?1
