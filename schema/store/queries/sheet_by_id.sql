SELECT sheet_id, what, who, day, recount_above, second_above, state FROM count_sheet WHERE sheet_id = ?1
