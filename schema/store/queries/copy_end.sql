DROP TABLE copy_progress
