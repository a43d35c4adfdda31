SELECT pg_has_role(current_user, c.relowner, 'MEMBER'), CAST(pg_get_userbyid(c.relowner) AS TEXT)
FROM pg_class c WHERE c.oid = CAST('shop' AS REGCLASS)
