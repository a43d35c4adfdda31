DROP TABLE own_file
