DELETE FROM own_file
