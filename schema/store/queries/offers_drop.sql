DELETE FROM offer WHERE supplier_id = ?1
