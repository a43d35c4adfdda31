SELECT CAST(m.rolname AS TEXT)
FROM pg_auth_members a JOIN pg_roles r ON r.oid = a.roleid JOIN pg_roles m ON m.oid = a.member
WHERE r.rolname = ?1
ORDER BY m.rolname
