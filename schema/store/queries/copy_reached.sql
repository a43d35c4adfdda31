SELECT source, at, done FROM copy_progress
