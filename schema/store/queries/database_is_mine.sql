SELECT CAST(datname AS TEXT), CAST(current_schema() AS TEXT), pg_has_role(current_user, datdba, 'MEMBER')
FROM pg_database WHERE datname = current_database()
