SELECT quote_ident(CAST(c.relname AS TEXT)) FROM pg_class c
WHERE c.relkind = 'r' AND c.relowner = (SELECT relowner FROM pg_class WHERE oid = CAST('shop' AS REGCLASS))
  AND c.relnamespace = (SELECT relnamespace FROM pg_class WHERE oid = CAST('shop' AS REGCLASS))
ORDER BY c.relname
