UPDATE part SET house = ?2, kind = ?3, description = ?4, maker = ?5, issue = ?6, measures = ?7, layout = ?8
WHERE part_id = ?1
