UPDATE supply_line SET rest = ?3, due_day = ?4, note = ?5 WHERE order_id = ?1 AND line = ?2
