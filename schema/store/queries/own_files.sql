SELECT name, bytes FROM own_file ORDER BY name
