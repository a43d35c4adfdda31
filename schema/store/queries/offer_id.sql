SELECT offer_id FROM offer WHERE supplier_id = ?1 AND part_id = ?2 AND number = ?3
